/** The tag a series goes by: its names in letters that need no escaping in any place, and can be read back. */
import type { SeriesId } from '../reading.ts';

export const tagOf = ({ organisation, sensor }: SeriesId): string =>
  Buffer.from(JSON.stringify([organisation, sensor])).toString('base64url');

/** null for a tag that is not one of ours. */
export function seriesOf(tag: string): SeriesId | null {
  try {
    const names: unknown = JSON.parse(Buffer.from(tag, 'base64url').toString('utf8'));
    if (!Array.isArray(names)) return null;
    const [organisation, sensor]: unknown[] = names;
    return typeof organisation === 'string' && typeof sensor === 'string' ? { organisation, sensor } : null;
  } catch {
    return null;
  }
}
