/** What can go wrong between the page and the service, each with a sentence fit to be read. */
import type { Problem } from '../../server/contract/index.ts';

/** The service answered, and refused. Its sentence names the field; `faults` say it field by field. */
export class Refusal extends Error {
  readonly status: number;
  readonly faults: readonly { readonly field: string; readonly sentence: string }[];

  constructor(problem: Problem) {
    super(problem.detail);
    this.name = 'Refusal';
    this.status = problem.status;
    this.faults = problem.faults ?? [];
  }
}

/** The service could not be reached, or did not answer as agreed. What was typed is safe; try again. */
export class Unreachable extends Error {
  constructor(sentence: string, cause?: unknown) {
    super(sentence, { cause });
    this.name = 'Unreachable';
  }
}
