/** What technicians recorded, and what visits say last of each item. */

export interface VisitTables {
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
  photo: {
    id: string;
    organisation_id: string;
    instrument_id: string;
    received_ms: number;
    /** Of the bytes as sent: the same picture again is known by it. */
    sent_sha256: string;
    width_px: number;
    height_px: number;
  };
  /** Of photos that are not whole yet. */
  photo_part: {
    photo_id: string;
    organisation_id: string;
    instrument_id: string;
    from_byte: number;
    size_bytes: number;
    total_bytes: number;
    /** Of the whole photo, as the device said with this part; null: it did not say. */
    whole_sha256: string | null;
    received_ms: number;
    bytes: Uint8Array;
  };
  photo_bytes: { photo_id: string; organisation_id: string; large: Uint8Array; small: Uint8Array };
  remark: {
    id: string;
    organisation_id: string;
    instrument_id: string;
    at_ms: number;
    /** JSON of the contract's remarkBody, exactly as accepted. */
    body: string;
    answer_visit_id: string | null;
    answer_ms: number | null;
    answer: string | null;
  };
  /** JSON of the contract's workshop. */
  workshop: { organisation_id: string; body: string };
  /** The last look at each item of an instrument; derived from its visits. */
  condition: {
    instrument_id: string;
    organisation_id: string;
    item: string;
    visit_id: string;
    at_ms: number;
    condition_class: number;
    /** JSON of the contract's finding; null where it was without symptoms. */
    finding: string | null;
  };
  /** What works took, for estimates; derived from visits. */
  work_done: {
    visit_id: string;
    instrument_id: string;
    organisation_id: string;
    job: string;
    minutes: number;
  };
}
