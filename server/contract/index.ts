/** The contract between the server and whoever talks to it over HTTP. Imports zod and nothing else. */
export * from './estimate.ts';
export * from './file-routes.ts';
export * from './fleet.ts';
export * from './inspection.ts';
export * from './inventory.ts';
export * from './quantities.ts';
export * from './readings.ts';
export * from './registry.ts';
export * from './remarks.ts';
export * from './routes.ts';
export * from './series.ts';
export * from './visit-brief.ts';
export * from './visit-sheet.ts';
export * from './visits.ts';
export * from './watch.ts';
