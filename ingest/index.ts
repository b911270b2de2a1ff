/** The public face of ingest: everything up to and including the shelf the readings stand on. */
export { type BrokerSettings, readBrokerSettings } from './broker-settings.ts';
export { type Precision, precisionNamed } from './decode/line-protocol.ts';
export type { Step } from './decode/mapped.ts';
export type { Decoded } from './decode/pack.ts';
export { type Profile, readProfile } from './decode/profile.ts';
export { isName as isSensorName } from './decode/senml.ts';
export { type DoorSettings, readDoorSettings } from './door-settings.ts';
export {
  type Gateway,
  type Gateways,
  type RefusalReason,
  type Refused,
  refusalReasons,
  type SetAside,
} from './gateways.ts';
export { type Heard, heardIn } from './heard.ts';
export type { Log } from './log.ts';
export {
  createPipeline,
  decodeMessage,
  type Message,
  type Outcome,
  type Pipeline,
  type Tally,
} from './pipeline.ts';
export { type Quantity, quantities, type Reading, type SeriesId } from './reading.ts';
export { readReadingsUrl } from './readings-url.ts';
export { type Broker, type Doors, startBroker } from './sources/broker.ts';
export { type CsvImport, type Imported, importCsv } from './sources/csv.ts';
export { type CsvPart, type ReadPart, readCsvPart } from './sources/csv-part.ts';
export { type CsvShape, type Guess, guessShape, titlesIn } from './sources/csv-shape.ts';
export { DoorFault } from './sources/doors.ts';
export { type DropWatch, watchDrops } from './sources/drops.ts';
export { type Memory, memoryInFile } from './sources/memory.ts';
export { type Subscriber, startSubscriber } from './sources/mqtt.ts';
export type { OutsideBroker } from './sources/outside-broker.ts';
export { filterForm, shareForm, subscriptionTo } from './sources/subscription.ts';
export { openInfluxReadings } from './store/influx.ts';
export { type HourKeeper, startHourKeeper } from './store/influx-hours.ts';
export type { InfluxPlace } from './store/influx-wire.ts';
export { openReadings } from './store/sqlite.ts';
export type { Appended, Columns, Rollup, Statistics, TimeSeries } from './store/time-series.ts';
