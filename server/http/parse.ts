/** Reads what a caller sent with the contract's schemas, and says in sentences what is wrong with it. */
import * as z from 'zod/mini';
import { BadRequest, type Fault } from './problem.ts';

// zod/mini carries no words of its own; the browser needs none, the server speaks English.
z.config(z.locales.en());

/**
 * @param where what the value is, for faults that concern all of it: "body", "query".
 * @throws BadRequest with a fault a field.
 */
export function parse<Schema extends z.ZodMiniType>(
  schema: Schema,
  value: unknown,
  where: string,
): z.output<Schema> {
  const result = z.safeParse(schema, value);
  if (result.success) return result.data;
  throw new BadRequest(result.error.issues.flatMap((issue) => faultsOf(issue, where)));
}

type Issue = z.core.$ZodIssue;

/** The branch of a union that came closest tells more than "Invalid input". */
function closest(issue: Extract<Issue, { code: 'invalid_union' }>): readonly Issue[] {
  const branches = issue.errors.filter((branch) => branch.length > 0);
  return branches.reduce<readonly Issue[]>(
    (best, one) => (best.length === 0 || depth(one) > depth(best) ? one : best),
    [],
  );
}
const depth = (issues: readonly Issue[]): number =>
  Math.max(...issues.map((one) => one.path.length)) - issues.length / 100;

function faultsOf(issue: Issue, where: string, above: readonly PropertyKey[] = []): Fault[] {
  const path = [...above, ...issue.path];
  if (issue.code === 'invalid_union') {
    const inner = closest(issue);
    if (inner.length > 0) return inner.flatMap((one) => faultsOf(one, where, path));
  }
  const field = path.length === 0 ? where : path.map(String).join('.');
  return [{ field, sentence: `${field}: ${wordsOf(issue)}` }];
}

function wordsOf(issue: Issue): string {
  if (issue.code === 'too_big') return `must be at most ${issue.maximum}${lengthUnit(issue.origin)}`;
  if (issue.code === 'too_small') {
    return issue.origin === 'string' && issue.minimum === 1
      ? 'must not be empty'
      : `must be at least ${issue.minimum}${lengthUnit(issue.origin)}`;
  }
  if (issue.code === 'invalid_value')
    return `must be ${issue.values.map((one) => JSON.stringify(one)).join(' or ')}`;
  if (issue.code === 'unrecognized_keys') return `has unknown fields: ${issue.keys.join(', ')}`;
  if (issue.code === 'invalid_type') {
    return issue.input === undefined && issue.message.includes('undefined')
      ? 'is missing'
      : `must be ${article(issue.expected)}`;
  }
  if (issue.code === 'invalid_format' && issue.format === 'uuid') return 'must be a UUID';
  return issue.message.replace(/^Invalid input: /, '');
}

const lengthUnit = (origin: string): string =>
  origin === 'string' ? ' characters long' : origin === 'array' ? ' entries long' : '';
const article = (kind: string): string => (/^[aeiou]/.test(kind) ? `an ${kind}` : `a ${kind}`);
