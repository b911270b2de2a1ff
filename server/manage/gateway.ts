import { addGateway } from '../registry/gateways.ts';
import { firstOrganisation } from '../registry/organisations.ts';
import type { Command } from './command.ts';

/** Prints the credentials once, each on a line `name: value`; only hashes are kept. */
export const gateway: Command = async ({ db }, [verb, name]) => {
  if (verb !== 'add' || !name) throw new Error('Say which: gateway add NAME');
  const viewer = await firstOrganisation(db, Date.now());
  const credentials = await addGateway(db, viewer, name, Date.now());
  process.stdout.write(
    `user: ${credentials.user}\npassword: ${credentials.password}\ntoken: ${credentials.token}\n`,
  );
};
