/** Routes that take or give files: photos, PDF, CSV. Parse, call, send. */
import express, { type ErrorRequestHandler, type Express, type Request, type Response } from 'express';
import type * as z from 'zod/mini';
import { type FileRoute, type FileRoutes, fileRoutes } from '../contract/index.ts';
import { PhotoTooLarge, putPart } from '../visits/photo-parts.ts';
import { photoBytes, putPhoto } from '../visits/photos.ts';
import { photoLimitBytes } from '../visits/picture.ts';
import { taskPhoto } from '../watch/venue-tasks.ts';
import { partOf } from './content-range.ts';
import type { AppDeps } from './handlers.ts';
import { parse } from './parse.ts';
import { sendProblem } from './problem.ts';
import { reportFiles } from './report-files.ts';

export interface SentFile {
  readonly bytes: Buffer | string;
  /** How it is called when it is saved; absent: shown in place. */
  readonly name?: string;
  readonly cache?: 'for ever';
}

type Output<Schema> = Schema extends z.ZodMiniType ? z.output<Schema> : undefined;
type Part<R, Name extends string> = R extends { readonly [key in Name]: infer Schema }
  ? Output<Schema>
  : undefined;
export type FileHandler<Name extends keyof FileRoutes> = (asked: {
  readonly params: Part<FileRoutes[Name], 'params'>;
  readonly query: Part<FileRoutes[Name], 'query'>;
  /** The page's own address, as the caller reached it. */
  readonly origin: string;
  readonly body: Buffer;
  readonly header: (name: string) => string | undefined;
}) => Promise<SentFile>;
export type FileHandlers = { readonly [Name in keyof FileRoutes]: FileHandler<Name> };

export function mountFiles(app: Express, deps: AppDeps): void {
  const { db, viewer, now } = deps;
  const handlers: FileHandlers = {
    async putPhoto({ params, body, header }) {
      const place = { instrumentId: params.id, id: params.photoId };
      const part = partOf(header('content-range'), header('repr-digest'), body);
      const receipt = part
        ? await putPart(db, viewer, place, part, now())
        : await putPhoto(db, viewer, { ...place, bytes: body }, now());
      return { bytes: JSON.stringify(receipt) };
    },
    async photo({ params, query }) {
      const bytes = await photoBytes(db, viewer, params.id, query.size ?? 'large');
      return { bytes, cache: 'for ever' };
    },
    async taskPhoto({ params, query }) {
      return { bytes: await taskPhoto(db, viewer, params.id, query.size ?? 'large') };
    },
    ...reportFiles(deps),
  };
  for (const name of Object.keys(handlers) as (keyof FileHandlers)[])
    mountFile(app, fileRoutes[name], handlers[name] as AnyFileHandler);
}

type AnyFileHandler = (asked: {
  params: unknown;
  query: unknown;
  origin: string;
  body: Buffer;
  header: (name: string) => string | undefined;
}) => Promise<SentFile>;

const tooLarge: ErrorRequestHandler = (error: unknown, _req, res, next) => {
  const status = typeof error === 'object' && error !== null && 'status' in error ? error.status : null;
  if (status !== 413 && !(error instanceof PhotoTooLarge)) return next(error);
  sendProblem(res, 413, new PhotoTooLarge().message);
};

function mountFile(app: Express, route: FileRoute, handler: AnyFileHandler): void {
  const at = route.path.replaceAll(/\{(\w+)\}/g, ':$1');
  const answer = async (req: Request, res: Response) => {
    const file = await handler({
      params: route.params && parse(route.params, { ...req.params }, 'path'),
      query: route.query && parse(route.query, { ...req.query }, 'query'),
      origin: `${req.protocol}://${req.get('host') ?? 'localhost'}`,
      body: Buffer.isBuffer(req.body) ? req.body : Buffer.alloc(0),
      header: (name) => req.get(name),
    });
    // What is under an id never changes, but only whoever may see it may keep it.
    res.set('Cache-Control', file.cache ? 'private, max-age=31536000, immutable' : 'private, no-cache');
    if (file.name !== undefined)
      res.set('Content-Disposition', `inline; filename*=UTF-8''${encodeURIComponent(file.name)}`);
    res.type(route.gives).send(file.bytes);
  };
  if (route.method === 'get') {
    app.get(at, answer);
    return;
  }
  const raw = express.raw({ type: () => true, limit: photoLimitBytes });
  app.put(at, raw, answer, tooLarge);
}
