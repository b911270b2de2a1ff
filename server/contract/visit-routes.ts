/** Routes of visits and what belongs to them: briefs for the phone, remarks, the fleet, moves, the inventory. */
import * as z from 'zod/mini';
import { comparison, fleetRow } from './fleet.ts';
import { inventoryCsv, inventoryKept, inventoryPreview, move, moveBody } from './inventory.ts';
import { id } from './quantities.ts';
import { remark, remarkAnswer, remarkBody } from './remarks.ts';
import { visitBriefs, workshopBody } from './visit-brief.ts';
import { photoReceived } from './visit-sheet.ts';
import { visit } from './visits.ts';

const byId = z.object({ id });

export const visitRoutes = {
  visit: {
    method: 'get',
    path: '/api/visits/{id}',
    summary: 'One visit as it was sent',
    params: byId,
    answer: visit,
    asks: 'person',
  },
  visitBriefs: {
    method: 'get',
    path: '/api/visit-briefs',
    summary: 'What a device keeps of every instrument so that its visit sheet opens without a signal',
    answer: visitBriefs,
    asks: 'person',
  },
  photoReceived: {
    method: 'get',
    path: '/api/photos/{id}/received',
    summary: 'How many bytes of a photo have come, where its sending was cut; 0 of one never heard of',
    params: byId,
    answer: photoReceived,
    asks: 'person',
  },
  remarks: {
    method: 'get',
    path: '/api/remarks',
    summary: 'What was reported of an instrument, or of all, newest first',
    query: z.object({ instrument: z.optional(id), open: z.optional(z.literal('yes')) }),
    answer: z.array(remark),
    asks: 'person',
  },
  putRemark: {
    method: 'put',
    path: '/api/remarks/{id}',
    summary: 'Keep what somebody reports; answers at once with what is known of the instrument',
    params: byId,
    body: remarkBody,
    answer: remarkAnswer,
    asks: 'person',
  },
  workshop: {
    method: 'get',
    path: '/api/workshop',
    summary: 'Heading, rate and disclaimer of estimates and reports',
    answer: workshopBody,
    asks: 'person',
  },
  putWorkshop: {
    method: 'put',
    path: '/api/workshop',
    summary: 'Change heading, rate and disclaimer',
    body: workshopBody,
    answer: workshopBody,
    asks: 'person',
  },
  inspections: {
    method: 'get',
    path: '/api/instruments/{id}/inspections',
    summary: 'All inspections of an instrument side by side, item by item',
    params: byId,
    answer: comparison,
    asks: 'person',
  },
  fleet: {
    method: 'get',
    path: '/api/fleet',
    summary: 'Every instrument with its condition classes, climate risk and priority',
    answer: z.array(fleetRow),
    asks: 'person',
  },
  moves: {
    method: 'get',
    path: '/api/moves',
    summary: 'Where an instrument was moved, oldest first',
    query: z.object({ instrument: id }),
    answer: z.array(move),
    asks: 'person',
  },
  putMove: {
    method: 'put',
    path: '/api/moves/{id}',
    summary: 'Note that an instrument was moved to another room, or retired (roomId null)',
    params: byId,
    body: moveBody,
    answer: move,
    asks: 'person',
  },
  previewInventory: {
    method: 'post',
    path: '/api/inventory/preview',
    summary: 'Read an inventory in CSV and say of every row what it would do; keeps nothing',
    body: inventoryCsv,
    answer: inventoryPreview,
    asks: 'person',
  },
  putInventory: {
    method: 'put',
    path: '/api/inventory/{id}',
    summary:
      'Keep the rows of an inventory that are in order; the same file under the same id makes nothing twice',
    params: byId,
    body: inventoryCsv,
    answer: inventoryKept,
    asks: 'person',
  },
} as const;
