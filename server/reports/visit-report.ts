/** A visit as the client reads it: how it stands, why, what to do, what it takes. Plain data in, a page out. */
import type { Content, TableCell, TDocumentDefinitions } from 'pdfmake/interfaces.js';
import type { Finding, Visit, Workshop } from '../contract/index.ts';
import { assemblies, groupsFor, itemOf, type Kind } from '../contract/index.ts';
import { type ClimateColumns, climateSvg, climateWords } from './climate-chart.ts';
import { estimatePages } from './estimate-pages.ts';
import { caution, disclaimers, document, hairline, table, tally } from './paper.ts';
import { findingStack, itemMeasured } from './report-findings.ts';
import { photoPages, type ReportPhoto } from './report-photos.ts';
import { pitchPages } from './report-pitch.ts';
import { conditionWords, dayOf, duration, upperFirst } from './said.ts';
import { heading, runs, say } from './type.ts';

export interface VisitReportData {
  readonly workshop: Workshop;
  readonly instrument: {
    readonly name: string;
    readonly place: string;
    readonly kind: Kind;
    readonly sizeCm: number | null;
    readonly year: number | null;
    readonly serial: string | null;
    readonly pitchStandardHz: number;
  };
  readonly timeZone: string;
  readonly visit: Visit;
  readonly remarks: readonly {
    readonly atMs: number;
    readonly from: string;
    readonly words: string;
    readonly answer: string;
  }[];
  readonly climate: ClimateColumns | null;
  readonly photos: readonly ReportPhoto[];
  readonly prices: boolean;
}

const worst = (findings: readonly Finding[]): number =>
  findings.reduce((most, one) => Math.max(most, one.conditionClass), 0);

function summary({ visit }: VisitReportData): string {
  const open = visit.findings.filter((one) => one.conditionClass > 0);
  const tuned = visit.asLeft !== null && Object.values(visit.asLeft).some((one) => one !== null);
  const done = tuned ? 'The piano was tuned. ' : '';
  if (open.length === 0) return `${done}Nothing was found that needs work.`;
  const counts = [3, 2, 1].flatMap((value) => {
    const many = open.filter((one) => one.conditionClass === value).length;
    return many === 0 ? [] : [`${many} ${conditionWords[value as 1 | 2 | 3]}`];
  });
  const soon = open.filter((one) => one.urgencyClass >= 2).length;
  const first = soon === 0 ? 'None of it is pressing.' : `${soon} should be seen to soon.`;
  return `${done}${open.length} ${open.length === 1 ? 'finding' : 'findings'}: ${counts.join(', ')}. ${first}`;
}

function facts({ instrument: i, visit, timeZone }: VisitReportData): Content {
  const size = i.sizeCm === null ? '' : `, ${i.sizeCm} cm`;
  const pairs: [string, string][] = [
    ['Instrument', `${i.name} (${i.kind}${size})`],
    ['Where', i.place],
    ...(i.year === null ? [] : [['Year', String(i.year)] as [string, string]]),
    ...(i.serial === null ? [] : [['Serial', i.serial] as [string, string]]),
    ['Pitch standard', `A4 = ${i.pitchStandardHz} Hz`],
    [
      'Visit',
      `${dayOf(visit.atMs, timeZone)}${visit.by ? `, by ${visit.by}` : ''}${visit.minutes === null ? '' : `, ${duration(visit.minutes)}`}`,
    ],
  ];
  const air = [
    ...(visit.conditions.humidityPct === null
      ? []
      : [`${Math.round(visit.conditions.humidityPct)} % humidity`]),
    ...(visit.conditions.temperatureC === null ? [] : [`${visit.conditions.temperatureC.toFixed(1)} °C`]),
  ];
  if (air.length > 0) pairs.push(['Air at the piano', air.join(', ')]);
  return table(
    [90, '*'],
    null,
    pairs.map(([name, value]) => [say(name, { style: 'quiet' }), say(value)]),
    { rowHeads: true },
  );
}

/** What whoever reads it must know until it is mended: of findings that endanger, or grow worse by waiting. */
function dangers(findings: readonly Finding[]): string[] {
  const said = findings.flatMap(({ itemId, conditionClass }) => {
    const item = itemId === undefined || conditionClass === 0 ? undefined : itemOf(itemId)?.item;
    return item?.caution && item.urgencyShift === 1 ? [item.caution] : [];
  });
  return [...new Set(said)];
}

/** Every assembly with its worst condition, then what was found there. */
function conditionPages(data: VisitReportData): Content[] {
  const { visit, instrument } = data;
  const sheet = visit.sheet;
  // A tuning alone examines nothing, and need not say so of everything.
  const examined = visit.findings.length + (sheet?.sound.length ?? 0) + (sheet?.notExamined.length ?? 0);
  if (examined === 0) return [];
  const looked = new Set([
    ...(sheet?.sound ?? []).map((id) => itemOf(id)?.group.assembly),
    ...visit.findings.map((one) => one.assembly),
  ]);
  const body = assemblies
    .filter((assembly) => looked.has(assembly))
    .map((assembly): TableCell[] => {
      const findings = visit.findings.filter((one) => one.assembly === assembly && one.conditionClass > 0);
      const grade = worst(findings) as 0 | 1 | 2 | 3;
      const measured = itemMeasured(sheet, assembly, instrument.kind);
      const words: Content[] = findings.map((one) => findingStack(one, instrument.kind));
      if (measured.length > 0) words.push(say(measured.join('; '), { style: 'small' }));
      return [
        say(upperFirst(assembly), { bold: true }),
        tally(grade),
        say(conditionWords[grade]),
        words.length === 0 ? say('') : { stack: words },
      ];
    });
  const missing = (sheet?.notExamined ?? []).map(({ itemId, why }) => {
    const name = itemOf(itemId)?.item.name ?? itemId;
    return why === '' ? name : `${name} (${why})`;
  });
  const never = sheet
    ? groupsFor(instrument.kind)
        .map((group) => group.assembly)
        .filter((one, i, all) => all.indexOf(one) === i && !looked.has(one))
    : [];
  return [
    heading('Condition by assembly'),
    table([100, 20, 62, '*'], ['Assembly', '', 'Condition', 'What was found'], body, { rowHeads: true }),
    ...caution(dangers(visit.findings)),
    ...(missing.length > 0 ? [say(`Not examined: ${missing.join(', ')}.`, { style: 'quiet' })] : []),
    ...(never.length > 0
      ? [say(`Nothing of these was looked at: ${never.join(', ')}.`, { style: 'quiet' })]
      : []),
  ];
}

function climatePages({ climate }: VisitReportData): Content[] {
  if (!climate) return [];
  const svg = climateSvg(climate);
  const key = `Humidity in % above, temperature in °C below.${climate.wished ? ' Grey: the wished band.' : ''} Dotted: visits.`;
  // In one piece: a chart means little on the page after its words.
  return [
    {
      unbreakable: true,
      stack: [
        heading('The air since the last visit'),
        say(climateWords(climate)),
        ...(svg
          ? [
              {
                svg,
                alt: `Chart of the air: ${climateWords(climate)}`,
                width: 483,
                margin: [0, 6, 0, 2],
              } as Content,
              say(key, { style: 'small' }),
            ]
          : []),
      ],
    },
  ];
}

function donePages({ visit, remarks, timeZone }: VisitReportData): Content[] {
  const sheet = visit.sheet;
  const pages: Content[] = [];
  if (remarks.length > 0) {
    pages.push(heading('What was reported, and what we found'));
    for (const one of remarks) {
      const who = one.from === '' ? '' : `, ${one.from}`;
      pages.push(
        say(`${dayOf(one.atMs, timeZone)}${who}: “${one.words}”`, { style: 'quiet' }),
        say(one.answer),
      );
    }
  }
  const done = sheet?.workDone ?? [];
  if (done.length > 0) {
    pages.push(heading('Work done'));
    pages.push({ ul: done.map(({ words }) => ({ text: runs(words) })) });
  }
  const control = sheet?.control ?? [];
  if (control.length > 0) {
    pages.push(heading('Humidity control'));
    pages.push(
      table(
        [110, 90, '*'],
        ['Part', 'State', 'What was done'],
        control.map(({ part, state, action }) => [say(upperFirst(part)), say(state), say(action)]),
      ),
    );
    pages.push(
      ...caution([
        'Unplug before filling or opening; keep water away from mains. Then plug in again and see that it runs. Damaged cables are for a licensed electrician.',
      ]),
    );
  }
  return pages;
}

function notePages({ visit }: VisitReportData): Content[] {
  if (visit.note === '') return [];
  const paragraphs = visit.note.split(/\n+/).map((one) => say(one, { margin: [0, 0, 0, 4] }));
  return [heading('Note'), ...paragraphs];
}

function signed({ visit, timeZone }: VisitReportData): Content[] {
  const signature = visit.sheet?.signature;
  if (!signature) return [];
  const paths = signature.strokes
    .map((stroke) => {
      const points: string[] = [];
      for (let i = 0; i + 1 < stroke.length; i += 2) points.push(`${stroke[i]} ${stroke[i + 1]}`);
      return points.length === 0 ? '' : `M${points.join('L')}${points.length === 1 ? 'h1' : ''}`;
    })
    .join('');
  const drawn: Content[] =
    paths === ''
      ? []
      : [
          {
            svg: `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1000 300"><path d="${paths}" fill="none" stroke="#1e2422" stroke-width="5" stroke-linecap="round" stroke-linejoin="round"/></svg>`,
            alt: `Signature of ${signature.by}`,
            width: 150,
          } as Content,
        ];
  return [
    {
      unbreakable: true,
      margin: [0, 14, 0, 0],
      stack: [...drawn, say(`${signature.by}, ${dayOf(visit.atMs, timeZone)}`, { style: 'quiet' })],
    },
  ];
}

export function visitReport(data: VisitReportData): TDocumentDefinitions {
  const { workshop, instrument, visit, timeZone } = data;
  const title = `${instrument.name}, visit of ${dayOf(visit.atMs, timeZone)}`;
  return document({
    title,
    madeBy: workshop.heading,
    content: [
      say(workshop.heading, { style: 'quiet' }),
      heading(title, 1),
      { text: runs(summary(data), 'Serif'), style: 'lead' },
      facts(data),
      ...donePages(data),
      ...conditionPages(data),
      ...pitchPages(visit, instrument.pitchStandardHz),
      ...climatePages(data),
      ...estimatePages(visit.sheet?.estimate ?? null, visit.findings, data.prices),
      ...notePages(data),
      ...photoPages(data.photos),
      ...signed(data),
      hairline(),
      ...[...disclaimers, workshop.disclaimer]
        .filter((text) => text !== '')
        .map((text) => say(text, { style: 'small', margin: [0, 0, 0, 3] })),
    ],
  });
}
