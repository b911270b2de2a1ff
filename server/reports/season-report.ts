/** A venue's season: what the air of its rooms was, how its instruments stand, which visits were made. */
import type { Content, TableCell, TDocumentDefinitions } from 'pdfmake/interfaces.js';
import type { FleetRow, Workshop } from '../contract/index.ts';
import { type ClimateColumns, climateSvg, climateWords } from './climate-chart.ts';
import { disclaimers, document, hairline, table, tally } from './paper.ts';
import { conditionWords, dayOf, duration } from './said.ts';
import { heading, runs, say } from './type.ts';

export interface SeasonReportData {
  readonly workshop: Workshop;
  readonly venue: string;
  readonly timeZone: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly rooms: readonly { readonly name: string; readonly climate: ClimateColumns | null }[];
  readonly instruments: readonly {
    readonly name: string;
    readonly room: string;
    readonly advice: string;
    readonly fleet: Pick<FleetRow, 'classes' | 'priority'>;
  }[];
  readonly visits: readonly {
    readonly atMs: number;
    readonly name: string;
    readonly tuned: boolean;
    readonly findings: number;
    readonly minutes: number | null;
  }[];
}

function roomPages({ rooms }: SeasonReportData): Content[] {
  return rooms.flatMap(({ name, climate }): Content[] => {
    const svg = climate && climateSvg(climate);
    return [
      {
        unbreakable: true,
        stack: [
          say(name, { bold: true, margin: [0, 8, 0, 1] }),
          say(climate ? climateWords(climate) : 'No sensor stands in this room.'),
          ...(svg
            ? [{ svg, alt: `Chart of the air, ${name}`, width: 483, margin: [0, 4, 0, 0] } as Content]
            : []),
        ],
      },
    ];
  });
}

function instrumentRows({ instruments }: SeasonReportData): TableCell[][] {
  return instruments.map(({ name, room, advice, fleet }) => {
    const known = Object.values(fleet.classes).filter((one) => one !== null);
    const grade = known.length === 0 ? null : (Math.max(...known) as 0 | 1 | 2 | 3);
    return [
      { stack: [say(name), say(room, { style: 'small' })] },
      grade === null ? say('') : tally(grade),
      say(grade === null ? 'not inspected' : conditionWords[grade]),
      say(advice),
    ];
  });
}

export function seasonReport(data: SeasonReportData): TDocumentDefinitions {
  const { workshop, venue, timeZone, fromMs, toMs, visits } = data;
  const title = `${venue}: ${dayOf(fromMs, timeZone)} to ${dayOf(toMs, timeZone)}`;
  const tuned = visits.filter((one) => one.tuned).length;
  const lead = `${visits.length} ${visits.length === 1 ? 'visit was' : 'visits were'} made, ${tuned} of them tunings, to ${data.instruments.length} ${data.instruments.length === 1 ? 'instrument' : 'instruments'}.`;
  return document({
    title,
    madeBy: workshop.heading,
    content: [
      say(workshop.heading, { style: 'quiet' }),
      heading(title, 1),
      { text: runs(lead, 'Serif'), style: 'lead' },
      heading('The air of the rooms'),
      ...roomPages(data),
      heading('The instruments'),
      data.instruments.length === 0
        ? say('None stand here.')
        : table([120, 20, 62, '*'], ['Instrument', '', 'Worst', 'Now'], instrumentRows(data), {
            rowHeads: true,
          }),
      heading('Visits'),
      visits.length === 0
        ? say('None in this time.')
        : table(
            [100, '*', 60, 60, 60],
            ['Day', 'Instrument', '', 'Findings', 'Took'],
            visits.map((one) => [
              say(dayOf(one.atMs, timeZone)),
              say(one.name),
              say(one.tuned ? 'tuned' : ''),
              say(String(one.findings)),
              say(one.minutes === null ? '–' : duration(one.minutes)),
            ]),
          ),
      hairline(),
      ...[...disclaimers, workshop.disclaimer]
        .filter((text) => text !== '')
        .map((text) => say(text, { style: 'small', margin: [0, 0, 0, 3] })),
    ],
  });
}
