/** What to do, why, and what it takes: must, should, could, each with its sum, then all of it. */
import type { Content, TableCell } from 'pdfmake/interfaces.js';
import type { Estimate, EstimateLine, Finding, Sum } from '../contract/index.ts';
import { itemOf, jobOf, options, sumOf } from '../contract/index.ts';
import { caution, table } from './paper.ts';
import { duration, money } from './said.ts';
import { heading, say } from './type.ts';

const optionWords = {
  must: 'What must be done',
  should: 'What should be done',
  could: 'What could be done',
} as const;

/** "1 h to 2 h 30 min, likely 1 h 30 min". */
export const timeWords = ({ least, likely, most }: Sum['minutes']): string =>
  least === most ? duration(likely) : `${duration(least)} to ${duration(most)}, likely ${duration(likely)}`;

function priceWords(cents: Sum['cents'], currency: string): string {
  if (!cents) return '';
  if (cents.least === cents.most) return money(cents.likely, currency);
  return `${money(cents.least, currency)} to ${money(cents.most, currency)}, likely ${money(cents.likely, currency)}`;
}

function whyOf(line: EstimateLine, findings: readonly Finding[]): string {
  const because = line.itemIds.map((id) => {
    const finding = findings.find((one) => one.itemId === id);
    const name = itemOf(id)?.item.name ?? id;
    return finding && finding.words !== '' ? `${name}: ${finding.words}` : name;
  });
  return because.join('; ');
}

export function estimatePages(
  estimate: Estimate | null,
  findings: readonly Finding[],
  prices: boolean,
): Content[] {
  if (!estimate || estimate.lines.length === 0) return [];
  const rate = prices ? estimate.ratePerHourCents : null;
  const { currency } = estimate;
  const priced = rate !== null;
  const widths = priced ? ['*', 130, 130] : ['*', 170];
  const pages: Content[] = [heading('What to do, and what it takes')];
  const cautions: string[] = [];
  for (const option of options) {
    const lines = estimate.lines.filter((line) => line.option === option);
    if (lines.length === 0) continue;
    const body = lines.map((line): TableCell[] => {
      const sum = sumOf([line], rate);
      const { caution: heed } = jobOf(line.job);
      if (heed && !cautions.includes(heed)) cautions.push(heed);
      const why = whyOf(line, findings);
      return [
        {
          stack: [
            say(`${line.name}${line.count > 1 ? `, ${line.count} times` : ''}`),
            ...(why === '' ? [] : [say(why, { style: 'small' })]),
          ],
        },
        say(timeWords(sum.minutes)),
        ...(priced ? [say(priceWords(sum.cents, currency))] : []),
      ];
    });
    const sum = sumOf(lines, rate);
    body.push([
      say('Together', { bold: true }),
      say(timeWords(sum.minutes), { bold: true }),
      ...(priced ? [say(priceWords(sum.cents, currency), { bold: true })] : []),
    ]);
    pages.push(
      table(widths, [optionWords[option], 'Time', ...(priced ? ['Work and parts'] : [])], body, {
        rowHeads: true,
      }),
    );
  }
  const all = sumOf(estimate.lines, rate);
  const price = priced ? `; ${priceWords(all.cents, currency)}` : '';
  pages.push(say(`All of it: ${timeWords(all.minutes)}${price}.`, { bold: true, margin: [0, 2, 0, 4] }));
  pages.push(...caution(cautions));
  return pages;
}
