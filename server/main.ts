/** Reads the settings, starts the services, says where it listens, and stops in reverse when told to. */
import { readConfig } from './config.ts';
import { boundHeap } from './heap.ts';
import { createLog } from './log.ts';
import { startService } from './services.ts';
import { readVersion } from './version.ts';

try {
  boundHeap();
  const config = readConfig(process.env);
  const log = createLog(config.logLevel);
  const version = readVersion();
  const service = await startService(config, log, version);
  log.info(
    {
      httpPort: service.httpPort,
      mqttPort: service.mqttPort,
      mqttTlsPort: service.mqttTlsPort,
      mqttWebsocketPort: service.mqttWebsocketPort,
      dataDir: config.dataDir,
      version,
    },
    'listening',
  );
  let stopping = false;
  const stop = async (signal: NodeJS.Signals) => {
    if (stopping) return;
    stopping = true;
    log.info({ signal }, 'stopping');
    await service.stop();
    process.exit(0);
  };
  process.on('SIGTERM', stop);
  process.on('SIGINT', stop);
} catch (error) {
  process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
  process.exit(1);
}
