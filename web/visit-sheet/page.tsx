/** Opens the sheet of an instrument from this device's own shelf, with or without a signal, and keeps it there. */

import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { useLocation, useRoute } from 'preact-iso';
import { beginWriting } from '../device/being-written.ts';
import { refreshBriefs } from '../device/briefs.ts';
import { readDrafts } from '../device/drafts.ts';
import { askToLast } from '../device/lasting.ts';
import { readOutbox, sendWaiting } from '../device/outbox.ts';
import { NoPhoto, smallPhoto } from '../device/photo.ts';
import { closeDraft, dropDraft, keepDraft, keepingTrouble, keepPhoto, shelf } from '../device/store.ts';
import { newId } from '../form/new-id.ts';
import { Refusal, Unreachable } from '../service/fault.ts';
import { refresh } from '../service/live.ts';
import { Page } from '../shell/page.tsx';
import type { SheetDraft } from './draft.ts';
import { envelopeOf } from './envelope.ts';
import { estimateOf } from './estimate.ts';
import { faultsOf } from './faults.ts';
import { fromShelf, type Known } from './from-shelf.ts';
import { recorded } from './recorded.ts';
import { rememberName } from './remembered-name.ts';
import { VisitSheetForm } from './sheet.tsx';
import type { Sheet } from './sheet-context.ts';
import { remember, type Step } from './undo.ts';
import './pitch.css';
import './visit-sheet.css';

/** A tuning alone; the assemblies are one press away. */
export const TuningPage = () => <VisitSheetPage inspects={false} />;

export function VisitSheetPage({ inspects = true }: { readonly inspects?: boolean }) {
  const { params, query } = useRoute();
  const instrumentId = params.id ?? '';
  const corrects = query.corrects ?? null;
  const [known, setKnown] = useState<Known | null>(null);
  const [missing, setMissing] = useState<string | null>(null);
  useEffect(() => {
    let gone = false;
    const load = async () => {
      // What the service knows newest, if it answers soon; what the device knows otherwise.
      const fresh = refreshBriefs().catch(() => undefined);
      await Promise.race([fresh, new Promise((resolve) => setTimeout(resolve, 1200))]);
      const wanted = { instrumentId, inspects, corrects };
      let found = await fromShelf(wanted);
      if (!found) {
        await fresh;
        found = await fromShelf(wanted);
      }
      if (gone) return;
      if (found) setKnown(found);
      else setMissing('This instrument is not known on this device, and the service does not tell of it.');
    };
    load().catch((error: unknown) =>
      setMissing(
        error instanceof Refusal || error instanceof Unreachable
          ? `The visit to be corrected cannot be had: ${error.message}`
          : keepingTrouble(error),
      ),
    );
    return () => {
      gone = true;
    };
  }, [instrumentId, inspects, corrects]);
  if (!known) {
    return (
      <Page title="Visit sheet" narrow>
        <p class="waiting" role={missing ? 'alert' : 'status'}>
          {missing ?? 'Opening the sheet …'}
        </p>
      </Page>
    );
  }
  return <Open key={known.draft.id} known={known} />;
}

function Open({ known }: { readonly known: Known }) {
  const { brief, workshop, ownTimes } = known;
  const { route } = useLocation();
  const [draft, setDraft] = useState(known.draft);
  const [steps, setSteps] = useState<readonly Step[]>([]);
  const [kept, setKept] = useState('on this device');
  const [keepingPhotos, setKeepingPhotos] = useState(false);
  const [trouble, setTrouble] = useState<string | null>(null);
  const now = useRef(draft);
  const closed = useRef(false);
  const faults = useMemo(() => faultsOf(draft, brief, Date.now()), [draft, brief]);

  useEffect(() => {
    void askToLast();
    // Closing leads there, perhaps without a signal and before the worker has kept every file.
    void import('../device/page.tsx').catch(() => undefined);
    return beginWriting();
  }, []);

  const put = (next: SheetDraft) => {
    now.current = next;
    setDraft(next);
    if (closed.current) return;
    keepDraft(next).then(
      () => setKept('on this device'),
      (error: unknown) => {
        setKept('not kept');
        setTrouble(keepingTrouble(error));
      },
    );
  };
  const change: Sheet['change'] = (what, make, field = '') => {
    const before = now.current;
    setSteps((all) => remember(all, { draft: before, what, field }));
    put(make(before));
  };
  const last = steps.at(-1);
  const undo = last && {
    what: last.what,
    run: () => {
      setSteps((all) => all.slice(0, -1));
      put(last.draft);
    },
  };

  /** @returns whether all of them are kept */
  const addPhotos = async (files: readonly File[], itemId: string | null): Promise<boolean> => {
    let all = true;
    for (const file of files) {
      try {
        if (now.current.photos.length >= 60) throw new NoPhoto('A visit holds at most 60 photos.');
        const id = newId();
        const bytes = await smallPhoto(file);
        await keepPhoto({
          id,
          visitId: now.current.id,
          instrumentId: brief.instrumentId,
          bytes,
          sent: false,
        });
        const note = {
          id,
          stage: itemId === null ? ('outside before work' as const) : ('finding' as const),
          itemId,
          caption: '',
          mark: null,
          bytes: bytes.byteLength,
        };
        change('photo', (draft) => ({ ...draft, photos: [...draft.photos, note] }));
        setTrouble(null);
      } catch (error) {
        all = false;
        setTrouble(
          error instanceof NoPhoto ? error.message : `The photo is not kept. ${keepingTrouble(error)}`,
        );
      }
    }
    return all;
  };
  /** Photos that are being made small and kept: closing waits for them. */
  const underWay = useRef(new Set<Promise<boolean>>());

  const close = async () => {
    const photos = await Promise.all(underWay.current);
    // Which photo is not kept, and why, stands on the sheet.
    if (photos.includes(false) || closed.current) return;
    const final = now.current;
    if (faultsOf(final, brief, Date.now()).length > 0) return;
    closed.current = true;
    try {
      const estimate = estimateOf(final, workshop, ownTimes);
      const id = await closeDraft(final, {
        id: final.id,
        instrumentId: final.instrumentId,
        title: `${brief.roomName} · ${brief.name}`,
        body: envelopeOf(final, estimate, brief.timeZone, Date.now()),
        closedMs: Date.now(),
        photoIds: final.photos.map(({ id }) => id),
        state: 'waiting',
        frozen: false,
        timeTyped: final.at !== '',
        said: null,
        contradicted: false,
        sentMs: null,
      });
      rememberName(final.by);
      await Promise.all([readOutbox(), readDrafts()]);
      const sent = sendWaiting();
      // A tuning is quickly sent, and then shown with what it changed; whatever takes longer is seen on its way.
      const quickly = !final.inspects || final.corrects !== null;
      if (quickly) await Promise.race([sent, new Promise((resolve) => setTimeout(resolve, 5000))]);
      const entry = await (await shelf()).get('outbox', id);
      if (!quickly || entry?.state !== 'sent') return route('/device');
      recorded.value = { instrumentId: brief.instrumentId, sentenceBefore: brief.advice };
      await refresh();
      route(`/instruments/${brief.instrumentId}`);
    } catch (error) {
      closed.current = false;
      setTrouble(keepingTrouble(error));
    }
  };

  const drop = async () => {
    if (!window.confirm('Throw this visit away, with its photos? This cannot be undone.')) return;
    closed.current = true;
    await dropDraft(now.current);
    await readDrafts();
    route(`/instruments/${brief.instrumentId}`);
  };

  const sheet: Sheet = {
    draft,
    brief,
    workshop,
    ownTimes,
    faults,
    change,
    addPhotos: (files, itemId) => {
      const these = addPhotos(files, itemId);
      underWay.current.add(these);
      setKeepingPhotos(true);
      void these.finally(() => {
        underWay.current.delete(these);
        setKeepingPhotos(underWay.current.size > 0);
      });
    },
  };
  return (
    <Page title={`${draft.inspects ? 'Visit to' : 'Tuning of'} ${brief.name}`} narrow>
      <VisitSheetForm
        sheet={sheet}
        kept={keepingPhotos ? 'keeping the photo …' : kept}
        undo={undo ?? null}
        trouble={trouble}
        onClose={() => void close()}
        onDrop={() => void drop()}
      />
    </Page>
  );
}
