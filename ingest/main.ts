/**
 * A worker that collects alone: from an outside broker into InfluxDB, several of them side by side under one
 * BROKER_GROUP, each with a BROKER_CLIENT_ID of its own. Who a gateway is, and what was set aside, is the service's.
 */
import { writeFileSync } from 'node:fs';
import pino from 'pino';
import { readBrokerSettings } from './broker-settings.ts';
import { gatherHeard } from './heard.ts';
import type { Log } from './log.ts';
import { createPipeline } from './pipeline.ts';
import { readReadingsUrl } from './readings-url.ts';
import { watchDrops } from './sources/drops.ts';
import { type Subscriber, startSubscriber } from './sources/mqtt.ts';
import { openInfluxReadings } from './store/influx.ts';
import { takeTurns } from './watchman.ts';
import { workerService } from './worker-service.ts';

const pulseEveryMs = 10_000;
/** A clock or a name used twice is told within the hour; seconds do not count. */
const reportEveryMs = 10_000;
const turnEveryMs = 10_000;

/** A worker has no port to be asked at: whoever looks after it looks at how old this file is. */
function showPulse(file: string, subscriber: Subscriber, log: Log): NodeJS.Timeout {
  return setInterval(() => {
    if (!subscriber.connected()) return;
    try {
      writeFileSync(file, '');
    } catch (error) {
      log.warn({ err: error }, 'HEALTH_FILE cannot be written');
    }
  }, pulseEveryMs);
}

try {
  const { env } = process;
  const { broker, faults: brokerFaults } = readBrokerSettings(env);
  const faults = [...brokerFaults];
  const readings = readReadingsUrl(env.READINGS_URL ?? '', env.READINGS_TOKEN || undefined);
  if ('fault' in readings) faults.push(`${readings.variable}: ${readings.fault}`);
  if (!env.BROKER_URL) faults.push('BROKER_URL: must be set for a worker');
  const { SERVICE_URL = 'http://127.0.0.1:8080', WORKER_TOKEN, LOG_LEVEL = 'info' } = env;
  if (!URL.canParse(SERVICE_URL)) faults.push('SERVICE_URL: must be a URL such as http://127.0.0.1:8080');
  if (!WORKER_TOKEN) faults.push('WORKER_TOKEN: must be the one the service has');
  if (!Object.hasOwn(pino.levels.values, LOG_LEVEL)) faults.push('LOG_LEVEL: must be a level such as info');
  if (faults.length > 0 || !broker || !('place' in readings)) {
    throw new Error(`These settings cannot be used: ${faults.join('; ')}.`);
  }
  const log = pino({ level: LOG_LEVEL });
  const service = workerService(SERVICE_URL, WORKER_TOKEN ?? '');
  await service.greet();
  const store = await openInfluxReadings(readings.place);
  const hearsay = gatherHeard(service.report, reportEveryMs, log);
  const pipeline = createPipeline({ store, refused: service.refused, log, heard: hearsay.heard });
  const subscriber = startSubscriber(broker, {
    gateways: service.gateways,
    memory: service.memory,
    pipeline,
    log,
  });
  const watchman = takeTurns({
    isOurs: () => service.isTurnOf(broker.clientId),
    begin: () => watchDrops(broker, { pipeline, memory: service.memory, log }),
    everyMs: turnEveryMs,
    log,
  });
  log.info({ clientId: broker.clientId, group: broker.group }, 'collecting');
  const pulse = env.HEALTH_FILE ? showPulse(env.HEALTH_FILE, subscriber, log) : undefined;
  let stopping = false;
  const stop = async (signal: NodeJS.Signals): Promise<void> => {
    if (stopping) return;
    stopping = true;
    log.info({ signal, ...pipeline.tally() }, 'stopping');
    clearInterval(pulse);
    await watchman.stop();
    await subscriber.stop();
    await pipeline.stop();
    await hearsay.stop();
    await store.stop();
    process.exit(0);
  };
  process.on('SIGTERM', stop);
  process.on('SIGINT', stop);
} catch (error) {
  process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
  process.exit(1);
}
