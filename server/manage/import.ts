import { SingleBar } from 'cli-progress';
import { importCsv } from '../../ingest/index.ts';
import { firstOrganisation } from '../registry/organisations.ts';
import type { Command } from './command.ts';

const needed = ['file', 'sensor', 'time-column', 'time-zone'] as const;
/** Faulty lines shown; all are counted. */
const shownFaults = 5;

/** Imports a logger's CSV file under a sensor's name. Doing it twice stores nothing twice. */
export const importReadings: Command = async ({ db, store }, _words, options) => {
  const missing = needed.filter((name) => !options[name]);
  if (missing.length > 0)
    throw new Error(`These are missing: ${missing.map((name) => `--${name}`).join(', ')}`);
  const { file = '', sensor = '' } = options;
  const viewer = await firstOrganisation(db, Date.now());
  const bar = new SingleBar({
    format: '{bar} {percentage} %',
    barCompleteChar: '━',
    barIncompleteChar: '─',
    hideCursor: true,
    clearOnComplete: true,
  });
  bar.start(1, 0);
  try {
    const result = await importCsv({
      file,
      organisation: viewer.organisationId,
      sensor,
      timeColumn: options['time-column'] ?? '',
      timeZone: options['time-zone'] ?? '',
      humidityColumn: options['humidity-column'],
      temperatureColumn: options['temperature-column'],
      delimiter: options.delimiter,
      store,
      onProgress: (done, total) => bar.update(total === 0 ? 1 : done / total),
    });
    bar.stop();
    process.stdout.write(
      `rows: ${result.rows}\nstored: ${result.stored}\nduplicates: ${result.duplicates}\n` +
        `conflicts: ${result.conflicts}\nrefused rows: ${result.refusedRows}\n`,
    );
    for (const fault of result.refused.slice(0, shownFaults)) {
      process.stdout.write(`line ${fault.line}: ${fault.sentence}\n`);
    }
  } finally {
    bar.stop();
  }
};
