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
  move: {
    id: string;
    organisation_id: string;
    instrument_id: string;
    at_ms: number;
    from_room_id: string;
    room_id: string | null;
    words: string;
  };
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
  /** Intervals between visits of one instrument, to learn its drift from: JSON. */
  drift_interval: { instrument_id: string; organisation_id: string; computed_ms: number; body: string };
  /** The last forecast of an instrument, what it rests on, and its quantiles: JSON of the contract's forecast. */
  forecast: {
    instrument_id: string;
    organisation_id: string;
    made_ms: number;
    rests_on: string;
    body: string;
  };
  /** What was learned of a fleet's drift and unisons: JSON. */
  drift_fit: { organisation_id: string; fitted_ms: number; body: string };
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
    to_venue: Generated<string>;
    to_client: Generated<string>;
    acknowledged_ms: number | null;
    acknowledged_by: string | null;
    acknowledged_note: string | null;
    snoozed_until_ms: number | null;
    frozen_because: string | null;
    ended_because: string | null;
    /** The venue-wide notice it is told under. */
    part_of: string | null;
  };
  /** What happened to a notice, in order; `seq` is what people and webhooks have been told up to. */
  notice_event: {
    seq: Generated<number>;
    organisation_id: string;
    notice_id: string;
    at_ms: number;
    kind: string;
    severity: number;
    note: string;
  };
  /** Where the watch of an instrument stands: the packed course after its last whole hour. */
  watch_state: { instrument_id: string; organisation_id: string; hour_ms: number; state: Uint8Array };
  /** The course as it was at the start of a UTC day: what late readings recompute from. The last days only. */
  watch_day: { instrument_id: string; day: number; state: Uint8Array };
  /** What is looked at once a day and after a visit: pitch, control, events, services. JSON. */
  outlook: { instrument_id: string; organisation_id: string; made_ms: number; body: string };
  setting: { organisation_id: string; scope: string; scope_id: string; name: string; value: number };
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
  /** The coming days' weather as somebody said it; `day` is the venue's own, YYYY-MM-DD. */
  weather_day: {
    venue_id: string;
    organisation_id: string;
    day: string;
    low_c: number;
    high_c: number;
    dew_point_c: number;
    said_ms: number;
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
  sensor_condition: { sensor_id: string; organisation_id: string; body: string };
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
  /** Messages on their way out. They stay as what was said; `id` is in the Message-ID and the idempotency key. */
  outgoing: {
    id: string;
    organisation_id: string;
    channel: string;
    kind: string;
    person_id: string | null;
    webhook_id: string | null;
    instrument_id: string | null;
    address: string;
    because: string;
    body: string;
    made_ms: number;
    state: string;
    attempts: number;
    next_ms: number;
    last_error: string | null;
    sent_ms: number | null;
  };
  /** The delivery log: why something was sent, or was not. */
  delivery: {
    seq: Generated<number>;
    organisation_id: string;
    outgoing_id: string | null;
    person_id: string | null;
    at_ms: number;
    kind: string;
    sentence: string;
  };
  call_choice: {
    call_id: string;
    organisation_id: string;
    choice: string;
    planned_ms: number | null;
    person_id: string | null;
    reason: string;
    chosen_ms: number;
  };
  call_done: {
    call_id: string;
    visit_id: string;
    organisation_id: string;
    instrument_id: string;
    kind: string;
    place: string;
    why: string;
    done_ms: number;
    planned_ms: number | null;
  };
  care_answer: {
    id: string;
    organisation_id: string;
    instrument_id: string;
    person_id: string;
    answer: string;
    date_ms: number | null;
    answered_ms: number;
  };
  care_words: { organisation_id: string; situation: string; subject: string; words: string };
  venue_task: {
    id: string;
    organisation_id: string;
    venue_id: string;
    room_id: string | null;
    /** What was asked, as it was said. */
    task: string;
    done_ms: number;
    /** The venue's own day, YYYY-MM-DD: a task is ticked once a day. */
    day: Generated<string>;
    kind: Generated<string>;
    note: Generated<string>;
    /** When the technician saw it. */
    seen_ms: Generated<number | null>;
  };
  task_photo: { task_id: string; organisation_id: string; large: Uint8Array; small: Uint8Array };
  task_link: {
    venue_id: string;
    organisation_id: string;
    secret_hash: string;
    made_ms: number;
    used_ms: number | null;
  };
  secret: { name: string; value: string };
  watermark: { name: string; value: string };
  registry_change: { organisation_id: string; changes: number };
}
