/** Who and what there is, where it stands, and what is known of each sensor. */
import type { Generated } from 'kysely';

export interface RegistryTables {
  organisation: { id: string; name: string; created_ms: number };
  registry_change: { organisation_id: string; changes: number };
  person: {
    id: string;
    organisation_id: string;
    body: string;
    /** Of `notice_event`: everything up to it was told or set aside. */
    told_seq: number;
    /** When the last digest was due; the next is due at the chosen hour after it. */
    digest_ms: number;
    /** Secret part of this person's links; a new one makes the old links void. */
    key: string;
    unsubscribed_ms: number | null;
    created_ms: number;
    /** SHA-256 of the secret in the calendar's address; null: there is no such address. */
    calendar_hash: string | null;
    calendar_made_ms: number | null;
  };
  webhook: {
    id: string;
    organisation_id: string;
    url: string;
    secret: string;
    told_seq: number;
    created_ms: number;
  };
  gateway: {
    id: string;
    organisation_id: string;
    name: string;
    password_hash: string;
    token_hash: string;
    created_ms: number;
    /** JSON; null: SenML. */
    profile: string | null;
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
    /** Up to when somebody has looked at it. */
    seen_ms: Generated<number | null>;
  };
  /** By which gateways a sensor comes, and how old its readings are at best when they come. */
  heard_by: {
    organisation_id: string;
    urn: string;
    gateway_id: string;
    first_ms: number;
    last_ms: number;
    least_age_ms: number;
    age_since_ms: number;
  };
  venue: {
    id: string;
    organisation_id: string;
    name: string;
    time_zone: string;
    /** One way; null: not said. */
    way_minutes: number | null;
  };
  room: {
    id: string;
    organisation_id: string;
    venue_id: string;
    name: string;
    volume_m3: number | null;
    air_changes_per_hour: number | null;
    wished_low_pct: number;
    wished_high_pct: number;
    glazing: Generated<string | null>;
    /** 1: a humidifier stands here; 0: none does; null: not said. */
    humidifier: Generated<number | null>;
    /** The room whose air speaks for this one while it has no sensor. */
    borrows_room_id: Generated<string | null>;
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
    /** Out of the fleet since; null while in use. */
    retired_ms: Generated<number | null>;
  };
  move: {
    id: string;
    organisation_id: string;
    instrument_id: string;
    at_ms: number;
    from_room_id: string;
    room_id: string | null;
    words: string;
  };
  humidity_control: {
    id: string;
    organisation_id: string;
    instrument_id: string;
    kind: string;
    set_pct: number;
    since_ms: number;
    until_ms: number | null;
  };
  event: {
    id: string;
    organisation_id: string;
    venue_id: string;
    name: string;
    start_ms: number;
    /** JSON array of ids. */
    instrument_ids: string;
    /** The use whose tolerance it asks for; null: that of each piano's own. */
    required: Generated<string | null>;
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
  /** Applied when readings are read, from `from_ms` on: true humidity = gain x sent + offset. */
  calibration: {
    id: string;
    organisation_id: string;
    sensor_id: string;
    from_ms: number;
    kind: string;
    gain: number;
    offset_pct: number;
    offset_c: number;
    /** JSON of the contract's calibrationBody, exactly as accepted. */
    body: string;
    corrects: string | null;
    made_ms: number;
  };
  /** Readings [from_ms, until_ms) that are kept, but out of everything that is computed. */
  doubt: {
    sensor_id: string;
    organisation_id: string;
    from_ms: number;
    until_ms: number;
    reason: string;
  };
}
