/** What the watch has found and where it stands, calls, weather, and the tasks of venues. */
import type { Generated } from 'kysely';

export interface WatchTables {
  watermark: { name: string; value: string };
  /** Where the watch of an instrument stands: the packed course after its last whole hour. */
  watch_state: { instrument_id: string; organisation_id: string; hour_ms: number; state: Uint8Array };
  /** The course as it was at the start of a UTC day: what late readings recompute from. The last days only. */
  watch_day: { instrument_id: string; day: number; state: Uint8Array };
  /** What is looked at once a day and after a visit: pitch, control, events, services. JSON. */
  outlook: { instrument_id: string; organisation_id: string; made_ms: number; body: string };
  /** What the watch last made of an instrument, as its page shows it: JSON. */
  standing: { instrument_id: string; organisation_id: string; evaluated_ms: number; body: string };
  sensor_condition: { sensor_id: string; organisation_id: string; body: string };
  setting: { organisation_id: string; scope: string; scope_id: string; name: string; value: number };
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
}
