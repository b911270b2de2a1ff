/** What was told to whom, and what clients answered. */
import type { Generated } from 'kysely';

export interface MessageTables {
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
}
