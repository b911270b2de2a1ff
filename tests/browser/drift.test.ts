/**
 * What comes, why it moved, how past words fared and what another climate would change: on the invented fleet, in a real
 * browser, against what the service itself answers. Whether its numbers are right is the business of tests/drift.
 */
import { randomUUID } from 'node:crypto';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { seedFolder } from '../../demo-data/seed.ts';
import type {
  BestDates,
  Forecast,
  InstrumentSummary,
  Learned,
  LookBackPage,
  RoomNow,
  WhatIfPage,
} from '../../server/contract/index.ts';
import { moved } from '../../web/drift/band-ends.ts';
import { byWords, days, rangeWords, tuningCount } from '../../web/drift/difference-words.ts';
import { scatterShape, stepFor } from '../../web/drift/scatter-shape.ts';
import { inBand, scoreWords } from '../../web/drift/score-words.ts';
import { api, instrumentBody, tuning } from '../support/api.ts';
import { eventually, type RunningService, startService, temporaryFolder } from '../support/service.ts';
import { barriers, chromiumIsHere, type Device, launch, picture, sidewaysPx, visit } from './chromium.ts';

const plainSpaces = (text: string | null) => (text ?? '').replaceAll('\u00a0', ' ');
const number = (text: string | null) => Number(plainSpaces(text).replace('\u2212', '-'));

describe('differences and scores in words', () => {
  test('a range is said from its near end to its far one, and names its way', () => {
    expect(rangeWords({ low: -100.2, high: -35.4 }, 0)).toBe('between 35 and 100 fewer');
    expect(rangeWords({ low: 3, high: 12.4 }, 0)).toBe('between 3 and 12 more');
    expect(rangeWords({ low: -20, high: 5 }, 0)).toBe('between 20 fewer and 5 more');
    expect(rangeWords({ low: -71.3, high: 0 }, 0)).toBe('between none and 71 fewer');
    expect(rangeWords({ low: -0.3, high: 0.2 }, 0)).toBe('none either way');
    expect(byWords(-64.6, days)).toBe('about 65 fewer days');
    expect(byWords(1.2, days)).toBe('about 1 more day');
    expect(byWords(0.3, days)).toBe('no more and no fewer days');
    expect(byWords(-0.36, tuningCount)).toBe('about 0.4 fewer tunings');
  });

  test('a bad score is told as plainly as a good one', () => {
    const rivals = [
      { name: 'no change since the tuning', missCents: 4 },
      { name: 'the calendar alone', missCents: 2 },
    ];
    const score = { intervals: 20, coverage: 0.8, missCents: 1.5, rivals };
    expect(plainSpaces(scoreWords('this venue', score))).toBe(
      'Over 20 intervals of this venue what was said missed by 1.5 cents on average, where the best plain rule ' +
        '(the calendar alone) misses by 2.0 cents; the band held 80 % and should hold 80.',
    );
    expect(scoreWords('this venue', { ...score, missCents: 2.6 })).toContain(
      'worse than a plain rule: the calendar alone misses by only 2.0',
    );
    expect(scoreWords('this venue', { ...score, coverage: 0.55 })).toContain(
      'claims to know more than it does',
    );
    expect(scoreWords('this piano', { ...score, intervals: 2 })).toContain('too few visits to judge');
    expect(scoreWords('this piano', { intervals: 0, coverage: null, missCents: null, rivals: [] })).toContain(
      'nothing could be set against',
    );
    expect(inBand(-2.5, -5, 1)).toBe('yes');
    expect(inBand(-8, -6.9, -2.2)).toBe('no, 1.1 below');
    expect(inBand(3, -1, 1.5)).toBe('no, 1.5 above');
  });

  test('a band’s ends keep apart, on the scale, in whole percents', () => {
    expect(moved({ lowPct: 40, highPct: 50 }, 'lowPct', 43.4)).toEqual({ lowPct: 43, highPct: 50 });
    expect(moved({ lowPct: 40, highPct: 50 }, 'lowPct', 70)).toEqual({ lowPct: 48, highPct: 50 });
    expect(moved({ lowPct: 40, highPct: 50 }, 'highPct', 12)).toEqual({ lowPct: 40, highPct: 42 });
    expect(moved({ lowPct: 40, highPct: 50 }, 'highPct', 99)).toEqual({ lowPct: 40, highPct: 80 });
  });

  test('the scatter sets no change in the middle and its line through it', () => {
    const point = { fromMs: 0, toMs: 1, register: 'tenor', moistureChangePct: -2, changeCents: -10 } as const;
    const slope = {
      register: 'tenor',
      centsPerPct: 5,
      sdCents: 0.5,
      fleetCentsPerPct: 4,
      intervals: 1,
    } as const;
    const frame = { widthPx: 440, heightPx: 324, leftPx: 40, bottomPx: 24 };
    const shape = scatterShape([point], slope, frame);
    expect([shape.x(0), shape.y(0)]).toEqual([240, 150]);
    // The point lies on the line, and both within the frame.
    const [begin = '', end = ''] = shape.line.slice(1).split('L');
    const [x0 = 0, y0 = 0, x1 = 0, y1 = 0] = `${begin} ${end}`.split(' ').map(Number);
    const along = y0 + ((shape.x(-2) - x0) / (x1 - x0)) * (y1 - y0);
    expect(along).toBeCloseTo(shape.y(-10), 0);
    expect(shape.marksX).toContain(0);
    expect(stepFor(4.5)).toBe(2);
    expect(stepFor(21)).toBe(10);
  });
});

describe.skipIf(!chromiumIsHere)('drift on the instrument’s page', () => {
  const folder = temporaryFolder();
  let service: RunningService;
  let browser: Browser;
  let client: ReturnType<typeof api>;
  /** Visited most often: something was learned of it. */
  let known: InstrumentSummary;
  const unheard = randomUUID();
  const untuned = randomUUID();

  beforeAll(async () => {
    await seedFolder(folder.path, Date.now(), () => undefined);
    service = await startService(folder.path);
    client = api(service.url);
    const all = await client.get<InstrumentSummary[]>('/api/instruments');
    const [most] = all
      .filter(({ inside, room }) => inside ?? room)
      .toSorted((a, b) => b.strip.visitsMs.length - a.strip.visitsMs.length);
    if (!most) throw new Error('the demo has no instruments');
    known = most;
    // One beside it that nobody has tuned, and one tuned in a room without a sensor.
    await client.put(`/api/instruments/${untuned}`, {
      ...instrumentBody,
      name: 'Untuned',
      roomId: known.roomId,
    });
    const house = await client.house({ name: 'Unheard' });
    await client.put(`/api/instruments/${unheard}`, {
      ...instrumentBody,
      name: 'Unheard',
      roomId: house.roomId,
    });
    await client.put(`/api/visits/${randomUUID()}`, tuning(unheard, Date.now() - 86_400_000));
    await eventually(
      'something is learned, and can be looked back on',
      async () => {
        const page = await client.get<Learned>(`/api/instruments/${known.id}/learned`);
        const back = await client.get<LookBackPage>(`/api/instruments/${known.id}/look-back`);
        return page.points.length > 0 && back.visits.length > 0;
      },
      90_000,
    );
    browser = await launch();
  }, 150_000);
  afterAll(async () => {
    await browser?.close();
    await service?.kill('SIGTERM');
    folder.remove();
  });

  const of = (route: string) => `/api/instruments/${known.id}/${route}`;
  const fromService = <Body>(route: string) => client.get<Body>(of(route));

  async function open(device: Device, id = known.id) {
    const visitor = await visit(browser, device);
    await visitor.page.goto(`${service.url}/instruments/${id}`);
    await visitor.page.locator('.plot canvas').nth(2).waitFor();
    if (id === known.id) {
      await visitor.page.locator('input[name="range"][value="coming"]').waitFor({ state: 'attached' });
      await visitor.page.locator('.look-back .scores').waitFor();
      await visitor.page.locator('.best-dates li').first().waitFor();
    }
    await visitor.page.evaluate(() => document.fonts.ready);
    return visitor;
  }

  for (const device of ['phone', 'laptop'] as const) {
    test(`on a ${device}: in light and dark no barrier, no sideways scroll, no complaint`, async () => {
      const { page, complaints, close } = await open(device);
      await page.getByRole('button', { name: 'Work it out' }).click();
      await page.locator('.what-if-result table').waitFor();
      for (const scheme of ['light', 'dark'] as const) {
        await page.emulateMedia({ colorScheme: scheme });
        await picture(page, `drift-${device}${scheme === 'dark' ? '-dark' : ''}`);
        expect(await sidewaysPx(page)).toBe(0);
        expect(await barriers(page)).toEqual([]);
      }
      expect(complaints).toEqual([]);
      await close();
    });
  }

  test('the opening says what the service decided, and when', async () => {
    const { decision, wait } = await fromService<Forecast>('forecast');
    const { page, close } = await open('laptop');
    const ahead = plainSpaces(await page.locator('.ahead').textContent());
    expect(ahead).toContain(plainSpaces(decision?.because ?? 'nothing decided'));
    if (wait) expect(ahead).toContain(plainSpaces(wait.why));
    expect(plainSpaces(await page.locator('.advice').textContent())).not.toBe('');
    await close();
  });

  /**
   * Pixels of the fans in one column of each plot: neutral grey over the white sheet in air and board, tinted by the accent
   * in pitch. Paper, grid and tolerance are all warm (more red than blue), the bare sheet is white; where a plot shows too
   * little of it, the column is not of the coming days and counts nothing.
   */
  function fansAt(page: Page, part: number): Promise<number[]> {
    return page.evaluate((where) => {
      return [...document.querySelectorAll<HTMLCanvasElement>('.plot canvas')].map((canvas, plot) => {
        const context = canvas.getContext('2d');
        const over = canvas.parentElement?.querySelector('.u-over');
        if (!context || !over) throw new Error('no plot');
        const ratio = canvas.width / canvas.getBoundingClientRect().width;
        const box = over.getBoundingClientRect();
        const left = (box.left - canvas.getBoundingClientRect().left + box.width * where) * ratio;
        const top = (box.top - canvas.getBoundingClientRect().top) * ratio;
        const height = Math.floor(box.height * ratio);
        const { data } = context.getImageData(Math.round(left), Math.round(top), 1, height);
        let inked = 0;
        let bare = 0;
        for (let i = 0; i < data.length; i += 4) {
          const [red = 0, green = 0, blue = 0] = data.slice(i, i + 3);
          if (red === 255 && green === 255 && blue === 255) bare += 1;
          const grey = red < 250 && Math.abs(red - blue) <= 4;
          if (plot === 2 ? blue > red : grey) inked += 1;
        }
        return bare > 10 ? inked : 0;
      });
    }, part);
  }

  test('the coming days stand as fans on a lighter sheet, and are spoken with their band', async () => {
    const forecast = await fromService<Forecast>('forecast');
    const { page, close } = await open('laptop');
    // 365 days past and 120 to come: 0.9 of the width lies well in the coming ones.
    await expect.poll(async () => Math.min(...(await fansAt(page, 0.9)))).toBeGreaterThan(10);
    await page.getByRole('radio', { name: 'coming', exact: true }).check();
    await page.locator('.plots').focus();
    await page.keyboard.press('End');
    const spoken = page.locator('.chart [aria-live="polite"]');
    await expect.poll(async () => plainSpaces(await spoken.textContent())).toContain('foretold: air');
    const name = plainSpaces(await page.locator('.plot-head h3').nth(2).textContent()).split(',')[0] ?? '';
    const fan = forecast.registers.find(({ register }) => register === name.toLowerCase())?.offsetCents;
    const said = /(\S+) cents? \((\S+) cents? to (\S+) cents?\)$/.exec(
      plainSpaces(await spoken.textContent()),
    );
    expect([said?.[2], said?.[1], said?.[3]].map((text) => number(text ?? null))).toEqual(
      [fan?.low.at(-1), fan?.middle.at(-1), fan?.high.at(-1)].map((value) =>
        Number((value ?? 99).toFixed(0)),
      ),
    );
    // The same day, the same band, in the sentence under the chart and in the table.
    const told = plainSpaces(await page.locator('.coming-words').textContent());
    expect(told).toContain(`at ${said?.[1]} cents (8 in 10 between ${said?.[2]}`);
    // A day in between: the cursor says that day's band, not one near it.
    const day = 30;
    const { humidityPct, timesMs } = forecast;
    const over = page.locator('.plot .u-over').first();
    await over.scrollIntoViewIfNeeded();
    const box = await over.boundingBox();
    if (!box) throw new Error('the plot has no box');
    const untilMs = timesMs.at(-1) ?? 0;
    const fromMs = Date.now() - 14 * 86_400_000;
    const part = ((timesMs[day] ?? 0) - fromMs) / (untilMs - fromMs);
    await page.mouse.move(box.x + box.width * part, box.y + 30);
    const [least, middle, most] = [humidityPct.low, humidityPct.middle, humidityPct.high].map((column) =>
      (column[day] ?? 0).toFixed(0),
    );
    await expect
      .poll(async () => plainSpaces(await page.locator('.plot-now').first().textContent()))
      .toContain(`foretold ${middle} % (${least} % to ${most} %)`);
    await page.getByText('The same as a table').click();
    const last = plainSpaces(await page.locator('.chart table').last().locator('tr').last().textContent());
    expect(last).toContain(`${said?.[1]} (${said?.[2]} to ${said?.[3]})`);
    await close();
  });

  test('as many coming days as past ones; a past stretch drawn out shows none', async () => {
    const { page, close } = await open('laptop');
    await page.getByRole('radio', { name: '30 d', exact: true }).check();
    await expect.poll(async () => Math.min(...(await fansAt(page, 0.9)))).toBeGreaterThan(10);
    // Half of the width is the past: the edge of the sheet.
    const over = page.locator('.plot .u-over').nth(1);
    await over.scrollIntoViewIfNeeded();
    const box = await over.boundingBox();
    if (!box) throw new Error('the plot has no box');
    await page.mouse.move(box.x + box.width * 0.55, box.y + 40);
    await expect
      .poll(async () => plainSpaces(await page.locator('.plot-now').first().textContent()))
      .toContain('foretold');
    await page.mouse.move(box.x + box.width * 0.45, box.y + 40);
    await expect
      .poll(async () => plainSpaces(await page.locator('.plot-now').first().textContent()))
      .not.toContain('foretold');
    await close();
  });

  test('the causes add up to what the register did, in every register', async () => {
    const page = await fromService<Learned>('learned');
    const { page: seen, close } = await open('laptop');
    for (const register of ['Bass', 'Top']) {
      await seen.locator('.learned-from').getByRole('radio', { name: register, exact: true }).check();
      await expect
        .poll(() => seen.locator('.why h2').textContent())
        .toBe(`Why the ${register.toLowerCase()} moved`);
      const told = page.whyMoved.filter((one) => one.register === register.toLowerCase());
      expect(await seen.locator('.why .stretch').count()).toBe(told.length);
      for (const [i, one] of told.entries()) {
        const shares = await seen.locator('.why .stretch').nth(i).locator('td.n').allTextContents();
        const sum = shares.reduce((all, text) => all + number(text), 0);
        // Each of up to five shares is rounded to a tenth.
        expect(Math.abs(sum - one.totalCents)).toBeLessThan(0.3);
      }
    }
    await close();
  });

  test('sensitivity, scatter and look-back show what was learned, with the scores of all rivals', async () => {
    const [learned, back] = [
      await fromService<Learned>('learned'),
      await fromService<LookBackPage>('look-back'),
    ];
    const { page, close } = await open('laptop');
    await page.locator('.learned-from').getByRole('radio', { name: 'Middle', exact: true }).check();
    const middle = learned.sensitivity.find(({ register }) => register === 'middle');
    await expect
      .poll(async () => plainSpaces(await page.locator('.how-far > p').first().textContent()))
      .toContain(`The middle moves ${middle?.centsPerPct.toFixed(1)} cents for each point`);
    const points = learned.points.filter(({ register }) => register === 'middle');
    expect(await page.locator('.scatter circle').count()).toBe(points.length);
    expect(await page.locator('.scatter svg').getAttribute('aria-label')).toContain(
      middle?.centsPerPct.toFixed(1),
    );
    const scored = back.visits.filter(({ registers }) =>
      registers.some(({ register }) => register === 'middle'),
    );
    const rows = page.locator('.look-back table').first().locator('tbody tr');
    expect(await rows.count()).toBe(scored.length);
    const newest = scored[0]?.registers.find(({ register }) => register === 'middle');
    const first = await rows.first().locator('td').allTextContents();
    expect([number(first[0] ?? ''), number(first[2] ?? '')]).toEqual([
      Number(newest?.saidCents.toFixed(1)),
      Number(newest?.foundCents.toFixed(1)),
    ]);
    const scores = plainSpaces(await page.locator('.scores').textContent());
    for (const { name, missCents } of back.fleet.rivals) {
      expect(scores).toContain(name);
      expect(scores).toContain(missCents.toFixed(1));
    }
    for (const { because } of learned.leftOut)
      expect(await page.locator('.left-out').textContent()).toContain(because);
    await close();
  });

  test('unisons stand beside the registers, the same as among the numbers', async () => {
    const { spreadCents } = await fromService<Forecast>('forecast');
    const { page, close } = await open('laptop');
    const today = spreadCents?.middle[0]?.toFixed(1) ?? 'unknown';
    expect(plainSpaces(await page.locator('.unisons td.n').textContent())).toMatch(
      new RegExp(`^${today} \\(`),
    );
    expect(plainSpaces(await page.locator('.numbers').textContent())).toContain(
      `Unisons, predicted${today} cents`,
    );
    await close();
  });

  test('the best weeks follow the number of tunings', async () => {
    const { page, close } = await open('laptop');
    for (const tunings of [1, 3]) {
      await page
        .locator('.best-dates')
        .getByRole('radio', { name: `${tunings}`, exact: true })
        .check();
      await expect.poll(() => page.locator('.best-dates li').count()).toBe(tunings);
      const best = await fromService<BestDates>(`best-dates?tunings=${tunings}`);
      expect(plainSpaces(await page.locator('.best-dates').textContent())).toContain(best.words);
    }
    await close();
  });

  test('the band is moved by mouse and by key, typed, and answered with what the service says', async () => {
    const { page, complaints, close } = await open('laptop');
    const track = page.locator('.band-track');
    await track.scrollIntoViewIfNeeded();
    const box = await track.boundingBox();
    if (!box) throw new Error('the scale has no box');
    const at = (pct: number) => box.x + ((pct - 20) / 60) * box.width;
    const height = box.y + box.height / 2;
    const [low, high] = [
      page.getByRole('textbox', { name: 'Not drier than' }),
      page.getByRole('textbox', { name: 'Not damper than' }),
    ];
    await page.mouse.move(at(50), height);
    await page.mouse.down();
    await page.mouse.move(at(54), height, { steps: 5 });
    await page.mouse.move(at(56), height, { steps: 5 });
    await page.mouse.up();
    await expect.poll(() => high.inputValue()).toBe('56');
    expect(await low.inputValue()).toBe('40');
    const handle = page.getByRole('slider', { name: 'Not drier than' });
    await handle.focus();
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('PageUp');
    await page.keyboard.press('ArrowLeft');
    expect(await handle.getAttribute('aria-valuenow')).toBe('45');
    expect(await low.inputValue()).toBe('45');
    // It cannot pass the other.
    await page.keyboard.press('End');
    expect(await handle.getAttribute('aria-valuenow')).toBe('54');
    await low.fill('42');
    await high.fill('50');
    expect(await handle.getAttribute('aria-valuenow')).toBe('42');
    await page.getByRole('button', { name: 'Work it out' }).click();
    await page.getByRole('button', { name: 'Working it out …' }).waitFor();
    await page.locator('.what-if-result').waitFor();
    const { body } = await client.ask('POST', of('what-if'), {
      hold: { where: 'room', lowPct: 42, highPct: 50 },
      roomId: null,
    });
    const answer = body as WhatIfPage;
    const said = plainSpaces(await page.locator('.what-if-result').textContent());
    const { daysBeyond } = answer.pastYear;
    expect(said).toContain('The room held between 42 and 50 %');
    expect(said).toContain(`${daysBeyond.changed.toFixed(0)} instead of ${daysBeyond.asItIs.toFixed(0)}`);
    expect(said).toContain(`${answer.litresAdded} litres to be added`);
    expect(said).toContain(answer.caution);
    expect(await page.locator('.what-if-result tbody tr').count()).toBe(
      2 * (5 + answer.pastYear.boardDays.length),
    );
    // Pitch and unisons each have their days; on some days both are out.
    const { pitchDays, unisonDays } = answer.pastYear;
    expect(pitchDays.asItIs + unisonDays.asItIs).toBeGreaterThanOrEqual(daysBeyond.asItIs);
    const row = (name: string) => page.locator('.what-if-result tbody tr', { hasText: name }).first();
    expect(await row('Of them with the pitch out').textContent()).toContain(pitchDays.asItIs.toFixed(0));
    expect(await row('Of them with the unisons out').textContent()).toContain(unisonDays.asItIs.toFixed(0));
    expect(complaints).toEqual([]);
    // On paper the answer stays, the form goes.
    await page.emulateMedia({ media: 'print' });
    expect(await page.locator('.what-if form').isVisible()).toBe(false);
    expect(await page.locator('.what-if-result').isVisible()).toBe(true);
    await close();
  });

  test('a finger moves the band too', async () => {
    const { page, context, close } = await open('phone');
    const track = page.locator('.band-track');
    await track.scrollIntoViewIfNeeded();
    const box = await track.boundingBox();
    if (!box) throw new Error('the scale has no box');
    const touch = await context.newCDPSession(page);
    const y = box.y + box.height / 2;
    const at = (pct: number) => ({ x: box.x + ((pct - 20) / 60) * box.width, y });
    await touch.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: [at(40)] });
    for (const pct of [38, 36, 34, 32]) {
      await touch.send('Input.dispatchTouchEvent', { type: 'touchMove', touchPoints: [at(pct)] });
    }
    await touch.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] });
    await expect.poll(() => page.getByRole('textbox', { name: 'Not drier than' }).inputValue()).toBe('32');
    await close();
  });

  test('what cannot be asked is refused at its field, and asked rightly it is answered', async () => {
    const { page, close } = await open('laptop');
    const form = page.locator('.what-if form');
    const button = page.getByRole('button', { name: 'Work it out' });
    await form.locator('[name="hold.lowPct"]').fill('dry');
    await button.click();
    await expect.poll(() => form.locator('.fault').textContent()).toContain('“dry” is not a number');
    await form.locator('[name="hold.lowPct"]').fill('60');
    await button.click();
    // The service's own refusal, beside the field it names.
    await expect.poll(() => form.locator('.fault').textContent()).toContain('ust be above');
    expect(await form.locator('[aria-invalid="true"]').getAttribute('name')).toBe('hold.highPct');
    await page.locator('.what-if').getByRole('radio', { name: 'move it' }).check();
    await button.click();
    await expect.poll(() => form.locator('.fault').textContent()).toContain('Choose a room');
    const rooms = await client.get<RoomNow[]>('/api/rooms');
    const other = rooms.find((room) => room.id !== known.roomId && room.now !== null);
    await form.locator('select').selectOption(other?.id ?? '');
    await button.click();
    await page.locator('.what-if-result').waitFor();
    expect(await page.locator('.what-if-result h3').textContent()).toContain(other?.name);
    await close();
  });

  test('before anything is known each panel says what it waits for', async () => {
    for (const id of [unheard, untuned]) {
      const { page, complaints, close } = await open('laptop', id);
      const { basis, decision } = await client.get<Forecast>(`/api/instruments/${id}/forecast`);
      expect(decision).toBeNull();
      await expect.poll(() => page.locator('.ahead').textContent()).toBe(basis);
      expect(await page.locator('input[name="range"][value="coming"]').count()).toBe(0);
      await expect
        .poll(() => page.locator('.why').textContent())
        .toContain('Nothing to tell before a tuning');
      await expect
        .poll(() => page.locator('.how-far').textContent())
        .toContain('Nothing of its own is learned yet');
      await expect
        .poll(() => page.locator('.learned-from').textContent())
        .toContain('No interval of its own yet');
      await expect
        .poll(() => page.locator('.look-back').textContent())
        .toContain('No visit could be scored yet');
      expect(await page.locator('.best-dates').textContent()).toContain(basis);
      expect(await page.locator('.unisons').count()).toBe(0);
      await picture(page, `drift-${id === unheard ? 'unheard' : 'untuned'}-laptop`);
      expect(await barriers(page)).toEqual([]);
      expect(complaints).toEqual([]);
      await close();
    }
  });
});
