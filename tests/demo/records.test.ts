/** What the service is told of the invented fleet: whole, by the contract, and belonging to nobody. */
import { describe, expect, test } from 'vitest';
import * as z from 'zod/mini';
import { dayMs, localTime } from '../../demo-data/clock.ts';
import { generate } from '../../demo-data/generate.ts';
import { instruments } from '../../demo-data/instruments.ts';
import { quietHomes, rooms, venues } from '../../demo-data/scenario.ts';
import { event, instrument, placement, room, venue, visitBody } from '../../server/contract/index.ts';

const endMs = Date.UTC(2026, 10, 25, 10);
const { records, world } = generate({ seed: 'test', endMs, months: 18 });
const { startMs } = world;

test('a conservatory, a hall, a church, six homes; 28 instruments, 36 sensors', () => {
  const of = (name: RegExp) => {
    const ids = new Set(records.venues.filter((one) => name.test(one.name)).map((one) => one.id));
    const inside = new Set(records.rooms.filter((one) => ids.has(one.venueId)).map((one) => one.id));
    const there = records.instruments.filter((one) => inside.has(one.roomId)).length;
    return { venues: ids.size, rooms: inside.size, instruments: there };
  };
  expect(of(/Conservatory/)).toEqual({ venues: 1, rooms: 15, instruments: 17 });
  expect(of(/Recital Hall/)).toEqual({ venues: 1, rooms: 2, instruments: 3 });
  expect(of(/Saint/)).toEqual({ venues: 1, rooms: 2, instruments: 2 });
  expect(of(/household/)).toEqual({ venues: 6, rooms: 6, instruments: 6 });
  expect(records.instruments).toHaveLength(28);
  expect(records.sensors).toHaveLength(36);
  const rooms = records.rooms.map((one) => one.name);
  expect(rooms.filter((name) => name.startsWith('Practice room')).length).toBe(8);
  expect(rooms.filter((name) => name.startsWith('Studio')).length).toBe(5);
});

test('a humidifier that is filled stands where the air is humidified, and windows and ways are mostly known', () => {
  const told = new Map(records.rooms.map((one) => [`${one.venueId} ${one.name}`, one]));
  const venueIds = new Map(records.venues.map((one) => [one.name, one.id]));
  const rows = rooms.map((row) => {
    const venueName = venues.find(({ key }) => key === row.venue)?.name ?? '';
    return { row, record: told.get(`${venueIds.get(venueName)} ${row.name}`) };
  });
  const filled = rows.filter(({ record }) => record?.humidifier === true);
  expect(filled.length).toBeGreaterThanOrEqual(5);
  for (const { row } of filled) expect(row.nature.conditioning).not.toBeNull();
  for (const home of quietHomes) {
    expect(filled.map(({ row }) => row.key)).toContain(home);
  }
  const panes = new Set(rows.map(({ record }) => record?.glazing));
  expect(panes).toEqual(new Set(['single', 'double', 'triple', null]));
  const ways = records.venues.map((one) => one.wayMinutes ?? null);
  expect(ways).toContain(null);
  expect(ways.filter((one) => one !== null).length).toBeGreaterThanOrEqual(5);
});

test('every record fits the contract and points at one that exists', () => {
  for (const one of records.venues) venue.parse(one);
  for (const one of records.rooms) room.parse(one);
  for (const one of records.instruments) instrument.parse(one);
  const withId = z.intersection(visitBody, z.object({ id: z.uuid() }));
  for (const one of records.visits) withId.parse(one);
  const ids = {
    venue: new Set(records.venues.map((one) => one.id)),
    room: new Set(records.rooms.map((one) => one.id)),
    instrument: new Set(records.instruments.map((one) => one.id)),
    visit: new Set(records.visits.map((one) => one.id)),
    urn: new Set(records.sensors.map((one) => one.urn)),
  };
  const sizes = Object.values(ids).map((set) => set.size);
  expect(sizes).toEqual([9, 25, 28, records.visits.length, 36]);
  for (const one of records.rooms) expect(ids.venue).toContain(one.venueId);
  for (const one of records.instruments) expect(ids.room).toContain(one.roomId);
  for (const one of records.visits) expect(ids.instrument).toContain(one.instrumentId);
  for (const { urn, ...one } of records.placements) {
    placement.parse({ ...one, sensorId: one.id });
    expect(ids.urn).toContain(urn);
  }
});

test('concerts, past and to come: each on a Friday evening, tuned for in the week before where it is past', () => {
  const { events } = records;
  expect(events.filter((one) => one.startMs > endMs)).toHaveLength(4);
  expect(new Set(events.map((one) => one.id)).size).toBe(events.length);
  for (const one of events) {
    event.parse(one);
    const { weekday, hour } = localTime(one.startMs);
    expect([weekday, hour]).toEqual([4, 19.5]);
    if (one.startMs > endMs || one.startMs < startMs + 10 * dayMs) continue;
    for (const id of one.instrumentIds) {
      const before = records.visits.filter((visit) => visit.instrumentId === id && visit.atMs < one.startMs);
      expect(one.startMs - Math.max(...before.map((visit) => visit.atMs))).toBeLessThan(10 * dayMs);
    }
  }
});

describe('visits', () => {
  const of = (id: string) => records.visits.filter((one) => one.instrumentId === id);

  test('3 to 6 to each instrument, in the past, in order, in working hours', () => {
    for (const { id } of records.instruments) {
      const own = of(id);
      expect(own.length).toBeGreaterThanOrEqual(3);
      expect(own.length).toBeLessThanOrEqual(6);
      const times = own.map((one) => one.atMs);
      expect([...times].sort((a, b) => a - b)).toEqual(times);
      for (const atMs of times) {
        expect(atMs).toBeGreaterThan(startMs);
        expect(atMs).toBeLessThan(endMs);
        const { weekday, hour } = localTime(atMs);
        expect(weekday).toBeLessThan(5);
        expect(hour).toBeGreaterThanOrEqual(9);
        expect(hour).toBeLessThanOrEqual(16.01);
      }
    }
  });

  test('each with pitch as found and as left, left near pitch; by registers, or A4 alone', () => {
    let a4Only = 0;
    for (const { asFound, asLeft } of records.visits) {
      if (!asFound || !asLeft) throw new Error('a visit without pitch');
      for (const taken of [asFound, asLeft]) {
        const registers = [taken.bass, taken.tenor, taken.middle, taken.treble, taken.top];
        const read = registers.filter((one) => one !== null).length;
        expect(read === 5 || (read === 0 && taken.a4 !== null)).toBe(true);
        if (read === 0) a4Only += 1;
      }
      for (const reading of [asLeft.bass, asLeft.tenor, asLeft.middle, asLeft.treble, asLeft.top]) {
        if (reading) expect(Math.abs(reading.value)).toBeLessThan(5);
      }
      if (asLeft.a4) expect(Math.abs(asLeft.a4.value - 440)).toBeLessThan(0.5);
    }
    expect(a4Only).toBeGreaterThan(10);
    expect(a4Only).toBeLessThan(records.visits.length / 2);
  });

  test('they tell of all that visits can: restringing, findings, a correction, spread not measured', () => {
    expect(records.visits.filter((one) => one.stringWork)).toHaveLength(1);
    const findings = records.visits.flatMap((one) => one.findings.map((finding) => finding.part));
    for (const known of ['open crack', 'loose pins']) expect(findings).toContain(known);
    const corrections = records.visits.filter((one) => one.corrects !== null);
    expect(corrections).toHaveLength(1);
    expect(records.visits.some((one) => one.id === corrections[0]?.corrects)).toBe(true);
    const unread = records.visits.filter((one) => one.unisonsLeftCents === null).length;
    expect(unread).toBeGreaterThan(20);
    expect(unread).toBeLessThan(records.visits.length - 20);
  });

  test('the last tuning lies days to half a year back, so that advice differs', () => {
    const days = records.instruments.map(({ id }) => (endMs - (of(id).at(-1)?.atMs ?? 0)) / dayMs);
    expect(Math.min(...days)).toBeLessThan(12);
    expect(Math.max(...days)).toBeGreaterThan(130);
    expect(days.filter((one) => one < 45).length).toBeGreaterThan(8);
    expect(days.filter((one) => one > 60).length).toBeGreaterThan(8);
  });
});

test('a sensor stands in one place at a time; one was moved', () => {
  let moved = 0;
  for (const { urn } of records.sensors) {
    const own = records.placements.filter((one) => one.urn === urn);
    if (own.length > 1) moved += 1;
    own.forEach((one, i) => {
      if (i > 0) expect(own[i - 1]?.untilMs).toBe(one.fromMs);
    });
    if (own.length > 0) expect(own.at(-1)?.untilMs).toBeNull();
  }
  expect(moved).toBe(1);
  const spots = records.placements.map((one) => one.spot);
  expect(spots.filter((spot) => spot === 'inside').length).toBe(7);
  expect(spots.filter((spot) => spot === 'outdoors').length).toBe(2);
});

test('every instrument has a sensor in its room', () => {
  const rooms = new Set(records.placements.filter((one) => one.untilMs === null).map((one) => one.roomId));
  for (const one of records.instruments) expect(rooms).toContain(one.roomId);
});

describe('nothing in it belongs to anyone', () => {
  test('instruments are called by kind and size, and numbered by the demo itself', () => {
    for (const one of records.instruments) {
      expect(one.name).toBe(`${one.kind === 'grand' ? 'Grand' : 'Upright'} ${one.sizeCm} cm`);
      expect(one.serial).toMatch(/^demo-\d{4}$/);
    }
  });

  test('sensors carry locally administered addresses, which no maker is given', () => {
    // Source: IEEE 802, the second lowest bit of the first octet; DEV URN by RFC 9039.
    for (const { urn } of records.sensors) {
      expect(urn).toMatch(/^urn:dev:mac:[0-9a-f]{16}$/);
      expect(Number.parseInt(urn.slice('urn:dev:mac:'.length, 'urn:dev:mac:'.length + 2), 16) & 0b11).toBe(
        0b10,
      );
    }
  });

  test('proper names are the few invented ones', () => {
    const invented =
      /^(Fernmoor Conservatory|Quillmere Recital Hall|Saint Orlane’s, Thrushcombe|(Brannoway|Oskelund|Ellinbrae|Pirrelow|Vossarand|Tavrick) household)$/;
    for (const one of records.venues) expect(one.name).toMatch(invented);
    expect(new Set(records.visits.map((one) => one.by))).toEqual(new Set(['Ilva Marrendow']));
    const words = instruments.map((row) => row.remarks).concat(records.visits.map((one) => one.note));
    for (const text of words) {
      // Capitals only where a sentence begins or a string is named (A3): no name hides in the notes.
      for (const [, word] of text.matchAll(/(?<![.:] |^)\b([A-Z][a-z]+)/gm)) {
        throw new Error(`"${word}" in "${text}" looks like a name`);
      }
    }
  });
});
