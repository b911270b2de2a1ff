/** `npm run manage -- …`: what is done to a data folder from the command line, also while the service runs. */
import { parseArgs } from 'node:util';
import { readConfig } from './config.ts';
import type { Command } from './manage/command.ts';
import { gateway } from './manage/gateway.ts';
import { importReadings } from './manage/import.ts';
import { lookBack } from './manage/look-back.ts';
import { replay } from './manage/replay.ts';
import { openStores } from './services.ts';

const commands: Readonly<Record<string, { readonly run: Command; readonly help: string }>> = {
  gateway: {
    run: gateway,
    help: 'gateway add NAME | renew NAME | remove NAME | profile NAME FILE|senml | try NAME FILE [--topic TOPIC] [--profile FILE] | replay NAME',
  },
  'look-back': { run: lookBack, help: 'look-back' },
  replay: { run: replay, help: 'replay --from DAY --to DAY [--settings FILE]' },
  import: {
    run: importReadings,
    help:
      'import --file FILE --sensor NAME --time-column NAME --time-zone ZONE ' +
      '[--humidity-column NAME] [--temperature-column NAME] [--delimiter CHARACTER]',
  },
};

const usage = `Commands:\n${Object.values(commands)
  .map((command) => `  npm run manage -- ${command.help}`)
  .join('\n')}\n`;

function optionNames(help: string): string[] {
  return [...help.matchAll(/--([a-z-]+)/g)].map((match) => match[1] ?? '');
}

try {
  const [name = '', ...rest] = process.argv.slice(2);
  const command = commands[name];
  if (!command) throw new Error(`${name ? `There is no command "${name}".\n` : ''}${usage}`.trimEnd());
  const { values, positionals } = parseArgs({
    args: rest,
    allowPositionals: true,
    options: Object.fromEntries(
      optionNames(command.help).map((option) => [option, { type: 'string' as const }]),
    ),
  });
  const config = readConfig(process.env);
  const stores = await openStores(config.dataDir, config.readings);
  try {
    await command.run(stores, positionals, values as Record<string, string>);
  } finally {
    await stores.stop();
  }
} catch (error) {
  process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
  process.exit(1);
}
