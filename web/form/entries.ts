/** Reads what was typed into fields, and gathers what cannot be read, in the shape in which the service would refuse it. */
import { Refusal } from '../service/fault.ts';
import { typed } from '../words/numbers.ts';

export class Entries {
  readonly #faults: { field: string; sentence: string }[] = [];

  /** A number, or null where the field was left empty. */
  optional(field: string, text: string): number | null {
    const value = typed(text);
    if (value === null || !Number.isNaN(value)) return value;
    this.fault(field, `“${text.trim()}” is not a number.`);
    return null;
  }

  /** A number that has to be given. */
  needed(field: string, text: string): number {
    const value = this.optional(field, text);
    if (value === null && text.trim() === '') this.fault(field, 'A number is needed here.');
    return value ?? 0;
  }

  fault(field: string, sentence: string): void {
    this.#faults.push({ field, sentence });
  }

  /** @throws Refusal naming every field that could not be read. */
  check(): void {
    if (this.#faults.length === 0) return;
    throw new Refusal({
      type: 'about:blank',
      title: 'Not readable',
      status: 422,
      detail: this.#faults.map(({ sentence }) => sentence).join(' '),
      faults: this.#faults,
    });
  }
}
