/** Where each soundboard stands, and its days. */

export interface SeriesTables {
  /** One day of a soundboard: its mean moisture, and the state at the day's start to recompute from. */
  board_day: {
    instrument_id: string;
    organisation_id: string;
    /** UTC days since the epoch. */
    day: number;
    /** null while no whole hour of the day is known. */
    mean_pct: number | null;
    /** JSON; null for old days between those that are kept. */
    checkpoint: string | null;
  };
  /** Where the board's computation stands: JSON of the state after its last whole hour. */
  board_state: { instrument_id: string; organisation_id: string; hour_ms: number; state: string };
}
