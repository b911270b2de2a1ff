/** The tables of records.db as Kysely sees them. Every row carries its organisation; times are UTC epoch milliseconds. */
import type { Generated } from 'kysely';

export interface Records {
  organisation: { id: string; name: string; created_ms: number };
  gateway: {
    id: string;
    organisation_id: string;
    name: string;
    password_hash: string;
    token_hash: string;
    created_ms: number;
  };
  refused: {
    id: Generated<number>;
    organisation_id: string | null;
    gateway: string | null;
    received_ms: number;
    topic: string;
    reason: string;
    sentence: string;
    payload: Uint8Array;
  };
  /** Counts outlive the payloads, of which only the newest are kept. Empty strings stand for "unknown". */
  refused_tally: {
    organisation_id: string;
    gateway: string;
    reason: string;
    count: number;
    last_ms: number;
    sentence: string;
  };
  venue: { id: string; organisation_id: string; name: string; time_zone: string };
  room: {
    id: string;
    organisation_id: string;
    venue_id: string;
    name: string;
    volume_m3: number | null;
    air_changes_per_hour: number | null;
    wished_low_pct: number;
    wished_high_pct: number;
  };
  instrument: {
    id: string;
    organisation_id: string;
    room_id: string;
    name: string;
    kind: string;
    size_cm: number | null;
    year: number | null;
    serial: string | null;
    pitch_standard_hz: number;
    use: string;
    /** JSON of the contract's board. */
    board: string;
    remarks: string;
  };
  sensor: {
    id: string;
    organisation_id: string;
    urn: string;
    first_seen_ms: number;
    last_ms: number | null;
    last_humidity_pct: number | null;
    last_temperature_c: number | null;
    battery_pct: number | null;
    interval_ms: number | null;
  };
  placement: {
    id: string;
    organisation_id: string;
    sensor_id: string;
    spot: string;
    room_id: string | null;
    instrument_id: string | null;
    venue_id: string | null;
    from_ms: number;
    until_ms: number | null;
  };
  visit: {
    id: string;
    organisation_id: string;
    instrument_id: string;
    at_ms: number;
    received_ms: number;
    corrects: string | null;
    /** JSON of the contract's visitBody, exactly as accepted. */
    body: string;
  };
  /** One day of a soundboard: its mean moisture, and the state at the day's start to recompute from. */
  board_day: {
    instrument_id: string;
    organisation_id: string;
    /** UTC days since the epoch. */
    day: number;
    /** null while no whole hour of the day is known. */
    mean_pct: number | null;
    checkpoint: string;
  };
  /** Where the board's computation stands: JSON of the state after its last whole hour. */
  board_state: { instrument_id: string; organisation_id: string; hour_ms: number; state: string };
  /** What the watch last made of an instrument, as its page shows it: JSON. */
  standing: { instrument_id: string; organisation_id: string; evaluated_ms: number; body: string };
  notice: {
    id: string;
    organisation_id: string;
    rule: string;
    /** The instrument or sensor it is about. */
    subject_id: string;
    instrument_id: string | null;
    sensor_id: string | null;
    venue_id: string | null;
    severity: number;
    state: string;
    began_ms: number;
    over_ms: number | null;
    place: string;
    what: string;
    why: string;
    to_do: string;
    not_before_ms: number | null;
    minutes: number;
    evidence: string;
  };
  watermark: { name: string; value: string };
}
