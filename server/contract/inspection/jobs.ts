/**
 * Works that can be proposed, with the minutes they take: least, likely, most. Common practice, no source, where the
 * trade names a range; the middle of it is called likely. A technician's own history replaces these as it grows.
 */
export interface Minutes {
  readonly least: number;
  readonly likely: number;
  readonly most: number;
}

export interface Job {
  readonly name: string;
  readonly minutes: Minutes;
  /** Sums up each time it is proposed (one centre, one string); otherwise a set is proposed once. */
  readonly each?: true;
  readonly caution?: string;
}

const t = (least: number, likely: number, most: number): Minutes => ({ least, likely, most });

const strings =
  'Strings can break as tension rises: eye protection, face out of their line, and tell the owner beforehand.';
const actionOut =
  'With the action on the move press no key and no shift pedal, and watch the hammers under the pinblock.';
const heavy = 'Heavy: lift, tilt and move with a second person, or leave it to piano movers.';

export const jobs = {
  tuning: { name: 'Tuning', minutes: t(45, 90, 120) },
  'pitch-raise': { name: 'Pitch raise and tuning', minutes: t(65, 120, 150), caution: strings },
  'concert-tuning': { name: 'Concert tuning', minutes: t(60, 75, 90) },
  'closer-examination': { name: 'Closer examination with report', minutes: t(60, 75, 90) },
  'case-repair': { name: 'Case: joints, hinges, veneer', minutes: t(20, 60, 180) },
  'legs-casters': { name: 'Legs, lyre, casters', minutes: t(15, 45, 120), caution: heavy },
  cleaning: {
    name: 'Cleaning',
    minutes: t(30, 60, 120),
    caution: 'Mould and rodent dirt: mask and gloves, no dry brushing; in quantity, a specialist.',
  },
  'moth-treatment': { name: 'Moth treatment and felts', minutes: t(45, 90, 240) },
  'crack-repair': { name: 'Shim or fill a soundboard crack', minutes: t(60, 120, 180), each: true },
  'rib-repair': { name: 'Glue and secure a separated rib', minutes: t(45, 90, 180), each: true },
  'bridge-repair': { name: 'Bridge: cracks, pins, cap', minutes: t(60, 240, 1200), caution: strings },
  'plate-examination': {
    name: 'Plate: examination, bolts',
    minutes: t(30, 60, 120),
    caution: 'A cracked plate bears 15 to 20 t: raise no tension; let strings down only evenly, or leave it.',
  },
  'pin-treatment': {
    name: 'Thin-glue treatment of loose pins, with a return visit',
    minutes: t(90, 135, 180),
    caution: 'Fumes of thin glue: air the room, goggles and gloves.',
  },
  'repin-block': { name: 'Repin with larger pins', minutes: t(900, 1200, 1500), caution: strings },
  'string-replacement': { name: 'Replace a string', minutes: t(15, 30, 45), each: true, caution: strings },
  'string-cleaning': { name: 'Clean strings', minutes: t(30, 60, 120), caution: strings },
  restring: { name: 'Restring', minutes: t(1200, 1350, 1800), caution: strings },
  'hammer-shaping': { name: 'File and shape hammers', minutes: t(90, 135, 180), caution: actionOut },
  'hammer-replacement': {
    name: 'New hammers and shanks with regulation and voicing',
    minutes: t(1200, 1650, 2100),
    caution: actionOut,
  },
  'knuckle-work': { name: 'Knuckles', minutes: t(60, 180, 480), caution: actionOut },
  'centre-repin': { name: 'Repin one centre', minutes: t(5, 10, 15), each: true, caution: actionOut },
  'flange-set': { name: 'Repin all hammer flanges', minutes: t(180, 240, 360), caution: actionOut },
  lubrication: { name: 'Lubrication', minutes: t(15, 30, 60), caution: actionOut },
  'key-easing': { name: 'Ease keys', minutes: t(60, 90, 120) },
  'key-easing-one': { name: 'Ease one key', minutes: t(3, 5, 10), each: true },
  'key-bushings': { name: 'Rebush keys', minutes: t(360, 480, 600) },
  keytops: { name: 'Keytops', minutes: t(10, 30, 120) },
  'key-level': {
    name: 'Level and dip',
    minutes: t(60, 120, 240),
    caution: 'Old key weights are lead: wash hands, do not sand.',
  },
  'damper-regulation': { name: 'Damper regulation', minutes: t(240, 360, 480) },
  'damper-felts': { name: 'Damper felts', minutes: t(480, 600, 720) },
  'pedal-work': { name: 'Pedals and trapwork', minutes: t(15, 45, 120), caution: heavy },
  'regulation-touch-up': { name: 'Regulation, touch-up', minutes: t(120, 180, 240), caution: actionOut },
  'regulation-full': { name: 'Regulation, full', minutes: t(360, 720, 1200), caution: actionOut },
  voicing: { name: 'Voicing', minutes: t(60, 120, 240) },
  'humidity-control': {
    name: 'Humidity control: service or fitting',
    minutes: t(15, 30, 180),
    caution:
      'Unplug before filling or opening, keep water from mains; then plug in again and see that it runs. Wiring is for a licensed electrician.',
  },
  'advice-room': { name: 'Advice on place and climate of the room', minutes: t(10, 15, 30) },
} as const satisfies Record<string, Job>;

export type JobId = keyof typeof jobs;
export const jobIds = Object.keys(jobs) as [JobId, ...JobId[]];
export const jobOf = (id: JobId): Job => jobs[id];
