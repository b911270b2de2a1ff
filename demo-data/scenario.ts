/**
 * The places of the demo. All of it is invented: no venue, household, technician or serial number here belongs to
 * anyone, and the house addresses of the sensors are locally administered ones that no maker hands out.
 *
 * One technician looks after 28 instruments: 17 in a conservatory, 3 in a recital hall, 2 at a church, 6 in homes.
 * Each row pairs what the service is told (name, volume, air changes, wished band) with what only nature knows.
 */
import type { Room, Venue } from '../server/contract/index.ts';
import type { RoomNature } from './building.ts';
import type { Conditioning } from './moisture-box.ts';

export const technician = 'Ilva Marrendow';
export const gatewayName = 'fernmoor-rounds';

export interface VenueRow {
  readonly key: string;
  readonly name: Venue['name'];
  readonly timeZone: string;
  /** What the technician says of the way there, one way; null: never said. */
  readonly wayMinutes: number | null;
  /** How much cooler it is there than at the weather's own place, K. */
  readonly coolerK: number;
}

export interface RoomRow {
  readonly key: string;
  readonly venue: string;
  readonly name: string;
  readonly wished: readonly [lowPct: number, highPct: number];
  /** Its windows; null: nobody has said. */
  readonly glazing: NonNullable<Room['glazing']> | null;
  /** A humidifier stands there that somebody fills; one in the air handling needs nobody. */
  readonly humidifier: boolean;
  readonly nature: RoomNature;
}

const timeZone = 'Europe/Vienna';

export const venues: readonly VenueRow[] = [
  { key: 'conservatory', name: 'Fernmoor Conservatory', timeZone, wayMinutes: 15, coolerK: 0 },
  { key: 'hall', name: 'Quillmere Recital Hall', timeZone, wayMinutes: 20, coolerK: 0 },
  { key: 'church', name: 'Saint Orlane’s, Thrushcombe', timeZone, wayMinutes: 35, coolerK: 0.8 },
  { key: 'brannoway', name: 'Brannoway household', timeZone, wayMinutes: 25, coolerK: 0 },
  { key: 'oskelund', name: 'Oskelund household', timeZone, wayMinutes: 30, coolerK: 0 },
  { key: 'ellinbrae', name: 'Ellinbrae household', timeZone, wayMinutes: 45, coolerK: 0 },
  { key: 'pirrelow', name: 'Pirrelow household', timeZone, wayMinutes: 20, coolerK: 0 },
  { key: 'vossarand', name: 'Vossarand household', timeZone, wayMinutes: null, coolerK: 0 },
  { key: 'tavrick', name: 'Tavrick household', timeZone, wayMinutes: null, coolerK: 0 },
];

/** A humidifier (and, where `dry` is given, a dryer) of a room; capacities in g per m³ and hour. */
function hold(lowPct: number, gm3h: number, dryAbovePct = Number.NaN, dryGm3h = 0): Conditioning {
  return { humidifyBelowPct: lowPct, humidifyGm3h: gm3h, dryAbovePct, dryGm3h };
}

const plain: Pick<RoomNature, 'fan' | 'coolAboveC' | 'conditioning' | 'gainKelvinPerHour'> = {
  gainKelvinPerHour: 0.02,
  fan: null,
  coolAboveC: null,
  conditioning: null,
};

type Told = Pick<RoomRow, 'glazing' | 'humidifier'>;
const usual: Told = { glazing: 'double', humidifier: false };
const filled: Partial<Told> = { humidifier: true };

function practice(
  number: number,
  volumeM3: number,
  own: Partial<RoomNature> = {},
  told: Partial<Told> = {},
): RoomRow {
  return {
    key: `practice-${number}`,
    venue: 'conservatory',
    name: `Practice room ${number}`,
    wished: [35, 60],
    ...usual,
    ...told,
    nature: {
      ...plain,
      volumeM3,
      airChangesPerHour: 0.55,
      envelopeHours: 60,
      heating: { dayC: 21, nightC: 20, kelvinPerHour: 0.8 },
      sunKelvinPerHour: 0.1,
      habit: { kind: 'practice' },
      moistureGm3h: 0,
      trade: { bufferPerHour: 1.5, bufferHours: 240 },
      ...own,
    },
  };
}

function studio(
  number: number,
  volumeM3: number,
  own: Partial<RoomNature> = {},
  told: Partial<Told> = {},
): RoomRow {
  return {
    key: `studio-${number}`,
    venue: 'conservatory',
    name: `Studio ${number}`,
    wished: [40, 55],
    ...usual,
    ...told,
    nature: {
      ...plain,
      volumeM3,
      airChangesPerHour: 0.4,
      envelopeHours: 70,
      heating: { dayC: 21, nightC: 20, kelvinPerHour: 0.8 },
      sunKelvinPerHour: 0.1,
      habit: { kind: 'studio' },
      moistureGm3h: 0.1,
      trade: { bufferPerHour: 1.6, bufferHours: 280 },
      ...own,
    },
  };
}

function home(
  venue: string,
  name: string,
  volumeM3: number,
  own: Partial<RoomNature>,
  told: Partial<Told> = {},
): RoomRow {
  return {
    key: venue,
    venue,
    name,
    wished: [40, 58],
    ...usual,
    ...told,
    nature: {
      ...plain,
      volumeM3,
      airChangesPerHour: 0.35,
      envelopeHours: 80,
      heating: { dayC: 21, nightC: 20, kelvinPerHour: 0.8 },
      sunKelvinPerHour: 0.12,
      habit: { kind: 'family', persons: 1.5, outAtWork: true },
      moistureGm3h: 0.5,
      trade: { bufferPerHour: 1.6, bufferHours: 340 },
      ...own,
    },
  };
}

/**
 * Three homes in which nothing is wrong: their windows stay shut in the heat, and a humidifier and a dryer that are
 * large enough hold the air all year. The watch has nothing to say of them but what is planted.
 */
export const quietHomes = ['oskelund', 'pirrelow', 'tavrick'] as const;
const held: Partial<RoomNature> = { conditioning: hold(42, 2.5, 48, 8), coolAboveC: 24 };

export const rooms: readonly RoomRow[] = [
  // The old wing's air handling humidifies a little; its windows are single ones.
  practice(1, 28, { conditioning: hold(37, 1.4) }, { glazing: 'single' }),
  practice(2, 28, { conditioning: hold(37, 1.4) }, { glazing: 'single' }),
  practice(3, 31, { conditioning: hold(37, 1.4) }, { glazing: 'single' }),
  practice(4, 31, { conditioning: hold(37, 1.4) }, { glazing: 'single' }),
  practice(5, 34),
  // Over the boiler room: its radiator cannot be turned down.
  practice(6, 26, { heating: { dayC: 24.5, nightC: 23.5, kelvinPerHour: 1.2 }, airChangesPerHour: 0.7 }),
  practice(7, 46, { conditioning: hold(34, 1) }, filled),
  practice(8, 46, { conditioning: hold(34, 1) }, filled),
  studio(1, 68, { conditioning: hold(41, 0.9, 57, 0.8) }, filled),
  studio(2, 82),
  studio(3, 74),
  studio(4, 90, {
    airChangesPerHour: 0.65,
    moistureGm3h: 0,
    heating: { dayC: 22.5, nightC: 21.5, kelvinPerHour: 0.8 },
  }),
  studio(5, 60, { conditioning: hold(39, 0.8) }, filled),
  {
    key: 'ensemble',
    venue: 'conservatory',
    name: 'Ensemble room',
    wished: [38, 58],
    glazing: 'double',
    humidifier: false,
    nature: {
      ...plain,
      volumeM3: 240,
      airChangesPerHour: 0.25,
      envelopeHours: 65,
      heating: { dayC: 21, nightC: 20, kelvinPerHour: 1 },
      sunKelvinPerHour: 0.08,
      habit: { kind: 'ensemble', persons: 14 },
      moistureGm3h: 0,
      trade: { bufferPerHour: 0.5, bufferHours: 60 },
      // Humidified by night; by day the fan's stuck damper blows the humidity out again.
      conditioning: hold(50, 1.5),
      fan: { fromHour: 7, untilHour: 19, airChangesPerHour: 1.8 },
    },
  },
  {
    key: 'lecture',
    venue: 'conservatory',
    name: 'Lecture room',
    wished: [35, 60],
    glazing: 'double',
    humidifier: false,
    nature: {
      ...plain,
      volumeM3: 160,
      airChangesPerHour: 0.5,
      envelopeHours: 60,
      heating: { dayC: 20.5, nightC: 19.5, kelvinPerHour: 0.8 },
      sunKelvinPerHour: 0.1,
      habit: { kind: 'parish', persons: 16 },
      moistureGm3h: 0,
      trade: { bufferPerHour: 1.5, bufferHours: 240 },
    },
  },
  {
    key: 'auditorium',
    venue: 'hall',
    name: 'Auditorium',
    wished: [42, 55],
    glazing: null,
    humidifier: false,
    nature: {
      ...plain,
      volumeM3: 3600,
      airChangesPerHour: 0.3,
      envelopeHours: 110,
      heating: { dayC: 20.5, nightC: 20, kelvinPerHour: 0.8 },
      sunKelvinPerHour: 0,
      habit: { kind: 'concerts', persons: 190 },
      moistureGm3h: 0,
      trade: { bufferPerHour: 1.5, bufferHours: 320 },
      conditioning: hold(43, 1.2, 54, 1.5),
      coolAboveC: 23,
    },
  },
  {
    key: 'green-room',
    venue: 'hall',
    name: 'Green room',
    wished: [38, 58],
    glazing: null,
    humidifier: false,
    nature: {
      ...plain,
      volumeM3: 75,
      airChangesPerHour: 0.4,
      envelopeHours: 80,
      heating: { dayC: 21, nightC: 20.5, kelvinPerHour: 0.8 },
      sunKelvinPerHour: 0,
      habit: { kind: 'concerts', persons: 4 },
      moistureGm3h: 0.25,
      trade: { bufferPerHour: 1.5, bufferHours: 320 },
    },
  },
  {
    key: 'nave',
    venue: 'church',
    name: 'Nave',
    wished: [45, 70],
    glazing: 'single',
    humidifier: false,
    nature: {
      ...plain,
      volumeM3: 2900,
      airChangesPerHour: 0.2,
      envelopeHours: 190,
      heating: null,
      gainKelvinPerHour: 0,
      sunKelvinPerHour: 0.03,
      habit: { kind: 'sundays', persons: 85 },
      moistureGm3h: 0,
      trade: { bufferPerHour: 1.6, bufferHours: 420 },
    },
  },
  {
    key: 'parish-room',
    venue: 'church',
    name: 'Parish room',
    wished: [38, 62],
    glazing: 'double',
    humidifier: false,
    nature: {
      ...plain,
      volumeM3: 120,
      airChangesPerHour: 0.45,
      envelopeHours: 50,
      heating: { dayC: 18, nightC: 15, kelvinPerHour: 0.7 },
      sunKelvinPerHour: 0.08,
      habit: { kind: 'parish', persons: 12 },
      moistureGm3h: 0,
      trade: { bufferPerHour: 1.4, bufferHours: 240 },
    },
  },
  home('brannoway', 'Music room', 70, { airChangesPerHour: 0.5, moistureGm3h: 0.25 }),
  home('oskelund', 'Living room', 95, held, filled),
  // A wood stove warms it unevenly and draws the air through.
  home('ellinbrae', 'Living room', 110, {
    heating: { dayC: 22.5, nightC: 19, kelvinPerHour: 1.2 },
    airChangesPerHour: 0.65,
    moistureGm3h: 0.4,
  }),
  home(
    'pirrelow',
    'Dining room',
    85,
    {
      habit: { kind: 'family', persons: 2.5, outAtWork: false },
      moistureGm3h: 0.35,
      airChangesPerHour: 0.3,
      ...held,
    },
    filled,
  ),
  // Half below ground.
  home('vossarand', 'Garden-level room', 60, {
    heating: { dayC: 19, nightC: 18, kelvinPerHour: 0.6 },
    airChangesPerHour: 0.25,
    envelopeHours: 140,
    sunKelvinPerHour: 0.03,
    moistureGm3h: 0.75,
  }),
  home(
    'tavrick',
    'Teaching room',
    78,
    {
      habit: { kind: 'family', persons: 2, outAtWork: false },
      ...held,
    },
    { humidifier: true, glazing: 'triple' },
  ),
];
