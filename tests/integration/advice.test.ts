/**
 * The whole way: a reading goes out of Debian's mosquitto_pub over MQTT, and comes back over HTTP first as a value, then
 * as moisture of a board, then as a sentence of advice; a recorded tuning changes that sentence.
 */
import { execFile } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { promisify } from 'node:util';
import { describe, expect, test } from 'vitest';
import type { Climate, Pitch } from '../../server/contract/index.ts';
import { tuning } from '../support/api.ts';
import { eventually, hasProgram } from '../support/service.ts';
import { gatewayStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';

const run = promisify(execFile);
const hourMs = 3_600_000;
const dayMs = 24 * hourMs;
const urn = 'urn:dev:mac:0200000000aa01';

describe.skipIf(!hasProgram('mosquitto_pub'))('from a sensor to advice', () => {
  const stage = standing(gatewayStage);

  /** The pack goes in by standard input: it may be longer than a command line. */
  async function publish(pack: object[]): Promise<void> {
    const where = [
      '-h',
      '127.0.0.1',
      '-p',
      String(stage.service.mqttPort),
      '-t',
      `readings/${stage.gateway.user}/hall`,
    ];
    const who = ['-u', stage.gateway.user, '-P', stage.gateway.password];
    const publishing = run('mosquitto_pub', [...where, ...who, '-q', '1', '-V', 'mqttv311', '-s']);
    publishing.child.stdin?.end(JSON.stringify(pack));
    await publishing;
  }

  /** Hourly air from a function of the hours before now. */
  const pack = (hours: number, humidityAt: (hoursAgo: number) => number, nowMs: number) =>
    Array.from({ length: hours + 1 }, (_, i) => hours - i).flatMap((hoursAgo) => {
      const t = Math.round((nowMs - hoursAgo * hourMs) / 1000);
      return [
        { n: `${urn}:humidity`, u: '%RH', v: humidityAt(hoursAgo), t },
        { n: `${urn}:temperature`, u: 'Cel', v: 20.5, t },
      ];
    });

  test('the value comes back', async () => {
    await publish([
      { bn: `${urn}:`, n: 'humidity', u: '%RH', v: 47.3 },
      { n: 'temperature', u: 'Cel', v: 21.2 },
    ]);
    const sensor = await eventually('the sensor makes itself known', async () =>
      (await stage.client.sensors()).sensors.find((one) => one.urn === urn),
    );
    expect(sensor.last).toMatchObject({ humidityPct: 47.3, temperatureC: 21.2 });
    expect(sensor.placement).toBeNull();
  });

  test('ten weeks of air become moisture, and the tuning before a dry month becomes advice', async () => {
    const nowMs = Date.now();
    const { roomId, instrumentId } = await stage.client.house();
    expect((await stage.client.instrument(instrumentId)).advice.sentence).toContain('No sensor stands');

    // Six weeks at 48 %, then four at 36 %: the board dries by some two points, not enough to endanger it.
    await publish(pack(70 * 24, (hoursAgo) => (hoursAgo > 28 * 24 ? 48 : 36), nowMs));
    await stage.client.placeInRoom(urn, roomId, nowMs - 71 * dayMs);
    const quiet = await eventually('the board is known', async () => {
      const page = await stage.client.instrument(instrumentId);
      return page.boardMoisturePct !== null && page;
    });
    // Wood Handbook (FPL-GTR-190) table 4-2 at 70 °F: 6.9 % at 35 %RH, 7.7 % at 40 %RH; nearly there after four weeks.
    expect(quiet.boardMoisturePct).toBeGreaterThan(6.9);
    expect(quiet.boardMoisturePct).toBeLessThan(7.7);
    expect(quiet.advice.sentence).toContain('No tuning is recorded');

    const visit = tuning(instrumentId, nowMs - 40 * dayMs);
    await stage.client.put(`/api/visits/${randomUUID()}`, visit);
    const flat = await stage.client.instrument(instrumentId);
    expect(flat.advice.sentence).toMatch(/low tenor is about \d+\u00a0cents flat/);
    expect(flat.calls.map((call) => call.kind)).toContain('tuning');
    expect(flat.advice.cautions.join(' ')).toMatch(/string/);
    const tenor = flat.registers.find((one) => one.register === 'tenor');
    expect(tenor?.offsetCents).toBeLessThan(-5);

    await stage.client.put(`/api/visits/${randomUUID()}`, tuning(instrumentId, Date.now()));
    const tuned = await stage.client.instrument(instrumentId);
    expect(tuned.calls.map((call) => call.kind)).not.toContain('tuning');
    expect(tuned.advice.sentence).not.toBe(flat.advice.sentence);
    expect(tuned.notices.find((one) => one.rule === 'pitch-out')).toMatchObject({ state: 'over' });
    expect(tuned.visits).toHaveLength(2);

    const climate = await stage.client.get<Climate>(`/api/instruments/${instrumentId}/climate?points=300`);
    const lengths = [
      climate.timesMs,
      climate.room?.humidityPct,
      climate.board.moisturePct,
      climate.board.uncertain,
    ];
    expect(new Set(lengths.map((one) => one?.length))).toEqual(new Set([climate.timesMs.length]));
    expect(climate.timesMs.length).toBeLessThanOrEqual(300);
    expect(climate.timesMs).toEqual([...climate.timesMs].sort((a, b) => a - b));
    const pitch = await stage.client.get<Pitch>(`/api/instruments/${instrumentId}/pitch?points=300`);
    const course = pitch.course.registers.find((one) => one.register === 'tenor')?.offsetCents ?? [];
    expect(course.length).toBe(pitch.course.timesMs.length);
    expect(Math.min(...course.filter((one) => one !== null))).toBeLessThan(-5);
    expect(pitch.visits.filter((one) => one.tuned)).toHaveLength(2);
  });
});
