/** What was learned of drift, and what is foretold. */

export interface DriftTables {
  /** Intervals between visits of one instrument, to learn its drift from: JSON. */
  drift_interval: { instrument_id: string; organisation_id: string; computed_ms: number; body: string };
  /** What was learned of a fleet's drift and unisons: JSON. */
  drift_fit: { organisation_id: string; fitted_ms: number; body: string };
  /** The last forecast of an instrument, what it rests on, and its quantiles: JSON of the contract's forecast. */
  forecast: {
    instrument_id: string;
    organisation_id: string;
    made_ms: number;
    rests_on: string;
    body: string;
  };
}
