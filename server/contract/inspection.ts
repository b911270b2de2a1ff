/** What is inspected, how it is graded and what it costs in time: the catalogue and its plain arithmetic. */
export * from './inspection/catalogue.ts';
export * from './inspection/correction.ts';
export * from './inspection/grade.ts';
export * from './inspection/item.ts';
export * from './inspection/jobs.ts';
export * from './inspection/look-again.ts';
export { newtonMetresPerInchPound } from './inspection/opened.ts';
export * from './inspection/pins.ts';
