/**
 * Calls a route of the contract by its name. What the page sends is typed by the route's schemas, what it receives is
 * parsed with them; a refusal comes back as a typed error.
 */
import * as z from 'zod/mini';
import { problem, type Route, type RouteName, type Routes, routes } from '../../server/contract/index.ts';
import { Refusal, Unreachable } from './fault.ts';

// Without this zod compiles its schemas with `new Function`, which the content security policy forbids.
z.config({ jitless: true });

type Part<R, K extends 'params' | 'query' | 'body'> = R extends { readonly [P in K]: infer S }
  ? { readonly [P in K]: K extends 'body' ? z.input<S> : z.output<S> }
  : unknown;

/** What a route takes: `params` for its path, `query`, `body`. */
export type Given<N extends RouteName> = Part<Routes[N], 'params'> &
  Part<Routes[N], 'query'> &
  Part<Routes[N], 'body'>;

export type Answer<N extends RouteName> = z.output<Routes[N]['answer']>;

interface AnyGiven {
  readonly params?: Readonly<Record<string, string>>;
  readonly query?: Readonly<Record<string, string | number | undefined>>;
  readonly body?: unknown;
}

function address(route: Route, given: AnyGiven): string {
  const path = route.path.replaceAll(/\{(\w+)\}/g, (_, key: string) =>
    encodeURIComponent(given.params?.[key] ?? ''),
  );
  const query = new URLSearchParams();
  for (const [key, value] of Object.entries(given.query ?? {})) {
    if (value !== undefined) query.set(key, String(value));
  }
  return query.size === 0 ? path : `${path}?${query}`;
}

async function refusal(response: Response): Promise<Refusal | Unreachable> {
  const said = problem.safeParse(await response.json().catch(() => null));
  if (said.success) return new Refusal(said.data);
  return new Unreachable(`The service answered ${response.status} without saying why.`);
}

/**
 * @throws Refusal when the service says no; Unreachable when it does not answer, or answers what the contract does not
 * know. An aborted call rejects with the signal's reason.
 */
export async function call<N extends RouteName>(
  name: N,
  given: Given<N>,
  signal?: AbortSignal,
): Promise<Answer<N>> {
  const route: Route = routes[name];
  const asked = given as AnyGiven;
  let response: Response;
  try {
    response = await fetch(address(route, asked), {
      method: route.method.toUpperCase(),
      headers: {
        accept: 'application/json',
        ...(asked.body === undefined ? {} : { 'content-type': 'application/json' }),
      },
      body: asked.body === undefined ? null : JSON.stringify(asked.body),
      signal: signal ?? null,
    });
  } catch (error) {
    if (signal?.aborted) throw error;
    throw new Unreachable('The service does not answer.', error);
  }
  if (!response.ok) throw await refusal(response);
  const answer = route.answer.safeParse(await response.json().catch(() => undefined));
  if (answer.success) return answer.data as Answer<N>;
  const [first] = answer.error.issues;
  throw new Unreachable(
    `The service's answer does not fit this page at "${first?.path.join('.') ?? ''}"; reload the page.`,
    answer.error,
  );
}
