/** What handlers are given, and how the contract types them. */
import type * as z from 'zod/mini';
import type { Gateways, Memory, Pipeline, Refused, TimeSeries } from '../../ingest/index.ts';
import type { RouteName, Routes } from '../contract/index.ts';
import type { Database } from '../db/database.ts';
import type { Thinking } from '../drift/thinking.ts';
import type { Log } from '../log.ts';
import type { Hearing } from '../registry/heard-by.ts';
import type { Viewer } from '../registry/viewer.ts';
import type { Amendments } from '../series/amended.ts';
import type { Watch } from '../watch/watch-loop.ts';

export interface OutsideState {
  connected(): boolean;
  possibleGaps(): number;
  dropped(): number | null;
}

export interface AppDeps {
  readonly db: Database;
  /** Readings as they are to be understood: put right by calibrations, without those in doubt. */
  readonly store: TimeSeries;
  /** Readings as they were sent. */
  readonly sent: TimeSeries;
  readonly amendments: Amendments;
  /** Whoever opens the page; until people sign in, the one organisation. */
  readonly viewer: Viewer;
  readonly gateways: Gateways;
  readonly refused: Refused;
  /** Where people reach this service from elsewhere; null: nowhere. */
  readonly publicUrl: string | null;
  /** What workers that collect alone show; null: there are none. */
  readonly workerToken: string | null;
  /** What this service and its workers remember of brokers elsewhere. */
  readonly memory: Memory;
  /** By which gateways sensors are heard, from workers too. */
  readonly hearing: Pick<Hearing, 'report'>;
  /** The broker elsewhere that is collected from; null: there is none. */
  readonly outside: OutsideState | null;
  readonly pipeline: Pipeline;
  readonly broker: { readonly port: number; clients(): number };
  readonly watch: Watch;
  readonly thinking: Thinking;
  readonly log: Log;
  readonly version: string;
  readonly now: () => number;
}

type Output<Schema> = Schema extends z.ZodMiniType ? z.output<Schema> : undefined;
type Part<R, Name extends string> = R extends { readonly [key in Name]: infer Schema }
  ? Output<Schema>
  : undefined;

/** What a handler is given and must answer, by the contract. */
export type Handler<Name extends RouteName> = (asked: {
  readonly params: Part<Routes[Name], 'params'>;
  readonly query: Part<Routes[Name], 'query'>;
  readonly body: Part<Routes[Name], 'body'>;
}) => Promise<Output<Routes[Name]['answer']>>;

/** Readings come in another way (raw body, a gateway's token), everything else through here. */
export type Handlers = { readonly [Name in Exclude<RouteName, 'addReadings'>]: Handler<Name> };
