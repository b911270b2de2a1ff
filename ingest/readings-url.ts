/**
 * READINGS_URL: where readings are kept when not in the data folder. http://host:8086/DATABASE is InfluxDB 1.x,
 * http://host:8086/BUCKET?org=ORGANISATION is 2.x, whose token comes as READINGS_TOKEN.
 */
import type { InfluxPlace } from './store/influx-wire.ts';

/** The place, or what is wrong; a fault never repeats the value, which may hold a password. */
export function readReadingsUrl(
  text: string,
  token: string | undefined,
): { place: InfluxPlace } | { variable: 'READINGS_URL' | 'READINGS_TOKEN'; fault: string } {
  const wrong = (fault: string) => ({ variable: 'READINGS_URL' as const, fault });
  if (!URL.canParse(text)) return wrong('must be a URL such as http://127.0.0.1:8086/crownwatch');
  const url = new URL(text);
  if (url.protocol !== 'http:' && url.protocol !== 'https:')
    return wrong('must begin with http:// or https://');
  const database = decode(url.pathname.slice(1));
  if (!database || database.includes('/'))
    return wrong('must end with one database or bucket, as in …:8086/crownwatch');
  const org = url.searchParams.get('org') ?? undefined;
  if ([...url.searchParams.keys()].some((name) => name !== 'org')) return wrong('takes no parameter but org');
  if (org !== undefined && !token) {
    return { variable: 'READINGS_TOKEN', fault: 'must hold the token of the organisation in READINGS_URL' };
  }
  if (org === undefined && token) {
    return wrong('needs ?org=… where READINGS_TOKEN is set (InfluxDB 2.x), or no READINGS_TOKEN (1.x)');
  }
  const user = decode(url.username) || undefined;
  const password = decode(url.password) || undefined;
  if (org !== undefined && (user || password)) return wrong('must hold no user where READINGS_TOKEN is set');
  return { place: { origin: url.origin, database, user, password, org, token } };
}

function decode(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return '';
  }
}
