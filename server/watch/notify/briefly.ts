/** What a notice is about in one clause, in the words of whoever reads it. Pure. */
import type { Notice, PersonBody } from '../../contract/index.ts';

/** After a colon, a semicolon or a whole sentence it says what to do; "St. " ends none. */
const clauseEnd = /[:;] |(?<=\p{L}{4})\. /u;

/** "The air at this piano is too dry for it": for a subject or a list, without a full stop. */
export function briefly(notice: Notice, role: PersonBody['role']): string {
  const [clause = ''] = role === 'venue manager' ? notice.toVenue.split(clauseEnd) : [];
  return (clause || notice.what).replace(/\.$/, '');
}
