/** What ingest tells its host; any logger that takes (fields, message) fits. Secrets are never among the fields. */
export interface Log {
  debug(fields: object, message: string): void;
  info(fields: object, message: string): void;
  warn(fields: object, message: string): void;
  error(fields: object, message: string): void;
}

export const silent: Log = { debug() {}, info() {}, warn() {}, error() {} };
