/** A piano in whose case humidity control holds 45 %, until somebody pulls its plug. */
import { randomUUID } from 'node:crypto';
import { putHumidityControl } from '../../server/registry/humidity-controls.ts';
import { type AirCourse, dayMs, hourMs, type Piano, type Stage } from './watch-stage.ts';

/** The air of a dry room, and in a case that lets a part of it through; unplugged, the case follows within some hours. */
export function airUntilPulled(pulledMs: number): { readonly room: AirCourse; readonly inside: AirCourse } {
  const roomPct = (ms: number) => 31 + 2.5 * Math.sin(ms / (40 * hourMs));
  // What steps at once is taken for another sensor.
  const insidePct = (ms: number) => {
    const kept = ms < pulledMs ? 1 : Math.exp(-(ms - pulledMs) / (9 * hourMs));
    return kept * (45 + 0.3 * (roomPct(ms) - 45)) + (1 - kept) * (roomPct(ms) + 1);
  };
  const course =
    (pct: (ms: number) => number): AirCourse =>
    (ms) => ({ humidityPct: pct(ms), temperatureC: 20.4 + 0.4 * Math.sin(ms / hourMs) });
  return { room: course(roomPct), inside: course(insidePct) };
}

/** Has it stand there for most of a year already, with a second sensor inside. */
export async function fitControl(stage: Stage, piano: Piano, inside: AirCourse): Promise<void> {
  const { db } = stage.stores;
  const { roomId } = await stage.piano(piano.venueId, 'elsewhere', inside);
  await db
    .updateTable('placement')
    .set({ spot: 'inside', room_id: null, instrument_id: piano.id })
    .where('room_id', '=', roomId)
    .execute();
  await putHumidityControl(db, stage.viewer, {
    ...{ id: randomUUID(), instrumentId: piano.id, kind: 'both', setPct: 45 },
    ...{ sinceMs: stage.nowMs - 300 * dayMs, untilMs: null },
  });
}
