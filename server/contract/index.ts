/** The contract between the server and whoever talks to it over HTTP. Imports zod and nothing else. */
export * from './quantities.ts';
export * from './readings.ts';
export * from './registry.ts';
export * from './routes.ts';
export * from './series.ts';
export * from './visits.ts';
export * from './watch.ts';
