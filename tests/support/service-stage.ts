/** The service as a process of its own on a folder of its own, and a client of it. */
import { api } from './api.ts';
import {
  addGateway,
  type GatewaySecrets,
  type RunningService,
  startService,
  temporaryFolder,
} from './service.ts';
import type { Undo } from './standing.ts';

export interface ServiceStage {
  /** The service's data folder. */
  readonly folder: string;
  readonly service: RunningService;
  readonly client: ReturnType<typeof api>;
}
/** What is done to the data folder before the service opens it. */
export type Prepare = (folder: string) => unknown;

export async function serviceStage(
  undo: Undo,
  prepare: Prepare = () => undefined,
  env: Readonly<Record<string, string>> = {},
): Promise<ServiceStage> {
  const folder = temporaryFolder();
  undo(folder.remove);
  await prepare(folder.path);
  const service = await startService(folder.path, env);
  undo(() => service.kill('SIGTERM'));
  return { folder: folder.path, service, client: api(service.url) };
}

/** @returns the stage that is asked for, with a gateway that may send */
export async function withGateway<Stage>(
  stageAfter: (prepare: Prepare) => Promise<Stage>,
): Promise<Stage & { readonly gateway: GatewaySecrets }> {
  let gateway: GatewaySecrets = { user: '', password: '', token: '' };
  const stage = await stageAfter((folder) => {
    gateway = addGateway(folder, 'attic');
  });
  return { ...stage, gateway };
}

export const gatewayStage = (undo: Undo) => withGateway((prepare) => serviceStage(undo, prepare));
