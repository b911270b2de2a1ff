/** What another climate would change: asked by mouse, finger and keys, and answered with what the service says. */
import { describe, expect, test } from 'vitest';
import type { RoomNow, WhatIfPage } from '../../server/contract/index.ts';
import { plain } from '../support/plain.ts';
import { chromiumIsHere } from './chromium.ts';
import { driftStage } from './drift-stage.ts';

/** The service works it out in a thread of its own, after what that has begun already. */
const workedOut = { timeout: 90_000 };

describe.skipIf(!chromiumIsHere)('drift on the instrument’s page', { timeout: 180_000 }, () => {
  const stage = driftStage();

  test('the band is moved by mouse and by key, typed, and answered with what the service says', async () => {
    const { page, complaints, close } = await stage.openPage();
    const track = page.locator('.band-track');
    // Only once it stands still: what is above it may still be growing.
    await track.hover();
    const box = await track.boundingBox();
    if (!box) throw new Error('the scale has no box');
    const at = (pct: number) => box.x + ((pct - 20) / 60) * box.width;
    const height = box.y + box.height / 2;
    const [low, high] = [
      page.getByRole('textbox', { name: 'Not drier than' }),
      page.getByRole('textbox', { name: 'Not damper than' }),
    ];
    await track.hover({ position: { x: at(50) - box.x, y: box.height / 2 } });
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
    // Asked once it is said that it is being worked out: the answer may be there sooner than anybody looks.
    let letGo = (): void => undefined;
    const isSaid = new Promise<void>((resolve) => {
      letGo = resolve;
    });
    await page.route('**/what-if', async (route) => {
      await isSaid;
      await route.continue();
    });
    const answering = page.waitForResponse('**/what-if', workedOut);
    await page.getByRole('button', { name: 'Work it out' }).click();
    await page.getByRole('button', { name: 'Working it out …' }).waitFor();
    letGo();
    const answered = await answering;
    expect(answered.request().postDataJSON()).toEqual({
      hold: { where: 'room', lowPct: 42, highPct: 50 },
      roomId: null,
    });
    const answer = (await answered.json()) as WhatIfPage;
    await page.locator('.what-if-result').waitFor();
    const said = plain(await page.locator('.what-if-result').textContent());
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
    const { page, context, close } = await stage.openPage('phone');
    const track = page.locator('.band-track');
    await track.hover();
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
    const { page, close } = await stage.openPage();
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
    const rooms = await stage.client.get<RoomNow[]>('/api/rooms');
    const other = rooms.find((room) => room.id !== stage.known.roomId && room.now !== null);
    await form.locator('select').selectOption(other?.id ?? '');
    await button.click();
    await page.locator('.what-if-result').waitFor(workedOut);
    expect(await page.locator('.what-if-result h3').textContent()).toContain(other?.name);
    await close();
  });
});
