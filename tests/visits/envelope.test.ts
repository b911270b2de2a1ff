/** The envelope of a visit: both forms are taken, twice is once, what cannot be meant is asked about, nothing is lost. */
import { randomUUID } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import type {
  Comparison,
  FleetRow,
  Problem,
  Remark,
  RemarkAnswer,
  Visit,
  VisitBriefs,
} from '../../server/contract/index.ts';
import { nothingMeasured, tuning } from '../support/api.ts';
import { serviceStage } from '../support/service-stage.ts';
import { standing } from '../support/standing.ts';
import { allItems, finding, inspection } from './sheet.ts';

const dayMs = 86_400_000;
const stage = standing(serviceStage);

const send = ({ id, ...body }: { id: string }) => stage.client.ask('PUT', `/api/visits/${id}`, body);
const faultsOf = (body: unknown) => (body as Problem).faults?.map(({ field }) => field);

describe('the envelope', () => {
  test('its first form, without a sheet, is taken as before', async () => {
    const { instrumentId } = await stage.client.house();
    const id = randomUUID();
    // Written out as a device of the first form sends it, so that the type of today cannot change it.
    const first = JSON.parse(
      `{"instrumentId":"${instrumentId}","atMs":${Date.now() - dayMs},"by":"A. Technician",
        "conditions":{"humidityPct":44,"temperatureC":20.5},"asFound":null,
        "asLeft":{"a4":{"unit":"Hz","value":440},"bass":null,"tenor":null,"middle":null,"treble":null,"top":null},
        "unisonsFoundCents":2.5,"unisonsLeftCents":0.4,"stringWork":false,"minutes":95,"note":"",
        "findings":[{"assembly":"keys","part":"slow","conditionClass":1,"urgencyClass":1,"recommendationClass":1,
          "words":"two","workProposed":"ease","estimatedMinutes":20,"measured":null}],"corrects":null}`,
    );
    expect((await stage.client.ask('PUT', `/api/visits/${id}`, first)).status).toBe(200);
    expect((await stage.client.ask('PUT', `/api/visits/${id}`, first)).status).toBe(200);
    const kept = await stage.client.get<Visit>(`/api/visits/${id}`);
    expect(kept).toEqual({ ...first, id, receivedMs: kept.receivedMs });
  });

  test('its second form is taken, twice is once, another body is refused', async () => {
    const { instrumentId } = await stage.client.house();
    const visit = inspection(instrumentId, Date.now() - dayMs, [
      finding({
        itemId: 'keys.free',
        assembly: 'keys',
        part: 'Free return',
        causedBy: 'keys.bushings',
        notes: { low: 28, high: 52 },
        earlier: [{ conditionClass: 1, atMs: Date.now() - dayMs, why: 'worse from below' }],
      }),
    ]);
    for (const _time of [1, 2]) expect((await send(visit)).status).toBe(200);
    expect(await stage.client.get<Visit[]>(`/api/visits?instrument=${instrumentId}`)).toHaveLength(1);
    const other = await send({ ...visit, note: 'changed on a second device' } as typeof visit);
    expect(other.status).toBe(409);
    expect((other.body as Problem).detail).toMatch(/send a correction under a new one/);
    const kept = await stage.client.get<Visit>(`/api/visits/${visit.id}`);
    expect(kept.note).toBe('');
    // What the second device had goes in as a correction of the first; both stay.
    const correction = { ...visit, id: randomUUID(), note: 'changed on a second device', corrects: visit.id };
    expect((await send(correction)).status).toBe(200);
    expect(await stage.client.get<Visit>(`/api/visits/${visit.id}`)).toEqual(kept);
    // A third device corrects the first without knowing of that: side by side they would count twice.
    const third = { ...correction, id: randomUUID(), note: 'changed on a third device' };
    const late = await send(third);
    expect(late.status).toBe(409);
    expect([faultsOf(late.body), (late.body as Problem).detail]).toEqual([
      ['corrects'],
      expect.stringMatching(/was corrected on another device meanwhile/),
    ]);
    // The first correction sent again is still the same one.
    expect((await send(correction)).status).toBe(200);
    const onTop = { ...third, corrects: correction.id };
    expect((await send(onTop)).status).toBe(200);
    const stand = await stage.client.get<Visit[]>(`/api/visits?instrument=${instrumentId}`);
    expect(stand.map(({ note }) => note)).toEqual(['changed on a third device']);
  });

  test('unisons go in register by register, with which and how many were sampled; not listened to stays absent', async () => {
    const { instrumentId } = await stage.client.house();
    const visit = {
      ...inspection(instrumentId, Date.now() - dayMs),
      unisonsFound: [
        { register: 'tenor', keys: [28, 32, 35], sampled: 3, cents: null, word: 'sour' },
        { register: 'middle', keys: [], sampled: 6, cents: 1.8, word: null },
      ],
      unisonsLeft: [],
    };
    expect((await send(visit)).status).toBe(200);
    const kept = await stage.client.get<Visit>(`/api/visits/${visit.id}`);
    expect([kept.unisonsFound, kept.unisonsLeft]).toEqual([visit.unisonsFound, []]);
    expect(kept.unisonsFoundCents).toBeNull();
    const wrong = (samples: unknown[]) =>
      send({ ...inspection(instrumentId, Date.now()), unisonsFound: samples } as { id: string });
    const tenor = { register: 'tenor', keys: [28, 32], sampled: 2, cents: 1, word: null };
    const answers = await Promise.all([
      wrong([{ ...tenor, sampled: 1 }]),
      wrong([{ ...tenor, keys: [28, 28] }]),
      wrong([tenor, tenor]),
      wrong([{ ...tenor, cents: null, word: 'awful' }]),
      wrong([{ ...tenor, cents: null }]),
    ]);
    expect(answers.map(({ status }) => status)).toEqual([400, 400, 400, 400, 400]);
    expect(answers.map(({ body }) => faultsOf(body)?.[0])).toEqual([
      'unisonsFound.0.sampled',
      'unisonsFound.0.keys',
      'unisonsFound',
      'unisonsFound.0.word',
      'unisonsFound.0.cents',
    ]);
  });

  test('a long note comes back whole', async () => {
    const { instrumentId } = await stage.client.house();
    const note = Array.from({ length: 2000 }, (_, i) => `word${i}`).join(' ');
    const visit = { ...inspection(instrumentId, Date.now() - dayMs), note };
    expect((await send(visit)).status).toBe(200);
    expect((await stage.client.get<Visit>(`/api/visits/${visit.id}`)).note).toBe(note);
  });
});

describe('what cannot be meant is asked about, at its field', () => {
  test('a torque of 900', async () => {
    const { instrumentId } = await stage.client.house();
    const asFinding = inspection(instrumentId, Date.now(), [
      finding({
        itemId: 'pins.torque',
        assembly: 'pinblock and pins',
        part: 'loose pins',
        measured: { value: 900, unit: 'N·m' },
      }),
    ]);
    const one = await send(asFinding);
    expect(one.status).toBe(400);
    expect(faultsOf(one.body)).toEqual(['findings.0.measured.value']);
    expect((one.body as Problem).detail).toMatch(
      /900 N·m is beyond what can be measured there \(0 to 40 N·m\)/,
    );
    const asSample = inspection(instrumentId, Date.now(), [], {
      pins: [{ section: 'bass', torqueNm: 900, feel: null, holds: null }],
    });
    expect(faultsOf((await send(asSample)).body)).toEqual(['sheet.pins.0.torqueNm']);
  });

  test('inch-pounds entered as newton metres', async () => {
    const { instrumentId } = await stage.client.house();
    const answer = await send(
      inspection(instrumentId, Date.now(), [
        finding({
          itemId: 'pins.torque',
          assembly: 'pinblock and pins',
          measured: { value: 90, unit: 'N·m' },
        }),
      ]),
    );
    expect((answer.body as Problem).detail).toMatch(/was in·lb meant\?/);
  });

  test('A4 of 44 Hz, an item of no catalogue, one item answered twice, a visit in the future', async () => {
    const { instrumentId } = await stage.client.house();
    const low = {
      ...inspection(instrumentId, Date.now()),
      asFound: { ...nothingMeasured, a4: { unit: 'Hz', value: 44 } },
    };
    expect(faultsOf((await send(low as never)).body)).toEqual(['asFound.a4']);
    const unknown = inspection(instrumentId, Date.now(), [finding({ itemId: 'strings.colour' })]);
    expect(faultsOf((await send(unknown)).body)).toEqual(['findings.0.itemId']);
    const twice = inspection(instrumentId, Date.now(), [finding({ itemId: 'keys.free' })], {
      sound: allItems,
    });
    expect((await send(twice)).status).toBe(400);
    const ahead = inspection(instrumentId, Date.now() + 3_600_000);
    expect(faultsOf((await send(ahead)).body)).toEqual(['atMs']);
  });
});

describe('between visits', () => {
  test('a remark is answered at once, opens on the next sheet, and is answered there', async () => {
    const { instrumentId } = await stage.client.house();
    const before = tuning(instrumentId, Date.now() - 40 * dayMs, {
      conditions: { humidityPct: 40, temperatureC: 20 },
    });
    await stage.client.put(`/api/visits/${randomUUID()}`, before);
    const id = randomUUID();
    const said = { instrumentId, atMs: Date.now(), from: 'venue, by telephone', words: 'buzz on C5' };
    const first = await stage.client.ask('PUT', `/api/remarks/${id}`, said);
    expect(first.status).toBe(200);
    expect((first.body as RemarkAnswer).reply).toMatch(/^Tuned 40 days ago/);
    expect((await stage.client.ask('PUT', `/api/remarks/${id}`, said)).status).toBe(200);
    expect((await stage.client.ask('PUT', `/api/remarks/${id}`, { ...said, words: 'other' })).status).toBe(
      409,
    );

    const briefs = await stage.client.get<VisitBriefs>('/api/visit-briefs');
    const brief = briefs.instruments.find((one) => one.instrumentId === instrumentId);
    expect(brief?.remarks.map(({ words }) => words)).toEqual(['buzz on C5']);

    const visit = inspection(instrumentId, Date.now(), [], {
      remarksAnswered: [{ remarkId: id, answer: 'A loose hinge pin; tightened.' }],
    });
    expect((await send(visit)).status).toBe(200);
    const [kept] = await stage.client.get<Remark[]>(`/api/remarks?instrument=${instrumentId}`);
    expect(kept?.answer).toMatchObject({ visitId: visit.id, words: 'A loose hinge pin; tightened.' });
    const after = await stage.client.get<VisitBriefs>('/api/visit-briefs');
    expect(after.instruments.find((one) => one.instrumentId === instrumentId)?.remarks).toEqual([]);
  });

  test('the last look at each item counts; inspections stand side by side', async () => {
    const { instrumentId } = await stage.client.house();
    const rib = finding({
      itemId: 'ribs.separated',
      measured: { value: 2, unit: 'mm' },
      words: 'treble end',
    });
    const first = inspection(instrumentId, Date.now() - 800 * dayMs, [{ ...rib, conditionClass: 1 }]);
    const second = inspection(instrumentId, Date.now() - 400 * dayMs, [rib]);
    // Only tuned, and one key found slow: says nothing of the ribs.
    const third = inspection(
      instrumentId,
      Date.now() - 30 * dayMs,
      [finding({ itemId: 'keys.free', assembly: 'keys' })],
      {
        sound: [],
      },
    );
    for (const visit of [third, first, second]) expect((await send(visit)).status).toBe(200);
    const compared = await stage.client.get<Comparison>(`/api/instruments/${instrumentId}/inspections`);
    expect(compared.visits.map(({ id }) => id)).toEqual([first.id, second.id, third.id]);
    const ribs = compared.items.find(({ itemId }) => itemId === 'ribs.separated');
    expect(ribs?.grades.map((one) => one?.conditionClass ?? null)).toEqual([1, 2, null]);
    expect(ribs?.grades[1]).toMatchObject({ words: 'treble end', against: 'high' });
    const brief = (await stage.client.get<VisitBriefs>('/api/visit-briefs')).instruments.find(
      (one) => one.instrumentId === instrumentId,
    );
    expect(brief?.open.map((one) => one.finding.itemId).toSorted()).toEqual(['keys.free', 'ribs.separated']);
    const row = (await stage.client.get<FleetRow[]>('/api/fleet')).find(
      (one) => one.instrumentId === instrumentId,
    );
    expect(row?.classes).toEqual({ belly: 2, pinblock: 0, action: 2, case: 0 });
    expect(row?.priority).toBeGreaterThan(0);
  });

  test("one's own times take the place of the trade's", async () => {
    const { instrumentId } = await stage.client.house();
    for (const minutes of [50, 55, 60]) {
      const visit = inspection(instrumentId, Date.now() - minutes * dayMs, [], {
        workDone: [{ job: 'voicing', words: 'Voicing', minutes }],
      });
      expect((await send(visit)).status).toBe(200);
    }
    const { ownTimes } = await stage.client.get<VisitBriefs>('/api/visit-briefs');
    expect(ownTimes.voicing).toEqual({ count: 3, minutes: { least: 50, likely: 55, most: 60 } });
  });

  test('a move is a dated event; a retired instrument leaves the lists and keeps its visits', async () => {
    const { instrumentId, venueId } = await stage.client.house();
    const roomId = randomUUID();
    await stage.client.put(`/api/rooms/${roomId}`, {
      venueId,
      name: 'Hall',
      volumeM3: null,
      airChangesPerHour: null,
      wishedLowPct: 40,
      wishedHighPct: 55,
    });
    const moved = { instrumentId, atMs: Date.now() - 10 * dayMs, roomId, words: 'for the season' };
    const id = randomUUID();
    for (const _time of [1, 2])
      expect((await stage.client.ask('PUT', `/api/moves/${id}`, moved)).status).toBe(200);
    expect((await stage.client.instrument(instrumentId)).roomName).toBe('Hall');
    const early = await stage.client.ask('PUT', `/api/moves/${randomUUID()}`, {
      ...moved,
      atMs: moved.atMs - dayMs,
    });
    expect(early.status).toBe(409);
    await stage.client.put(`/api/visits/${randomUUID()}`, tuning(instrumentId, Date.now() - 5 * dayMs));
    await stage.client.put(`/api/moves/${randomUUID()}`, { ...moved, atMs: Date.now(), roomId: null });
    const list = await stage.client.get<{ id: string }[]>('/api/instruments');
    expect(list.some((one) => one.id === instrumentId)).toBe(false);
    expect(await stage.client.get<Visit[]>(`/api/visits?instrument=${instrumentId}`)).toHaveLength(1);
  });
});
