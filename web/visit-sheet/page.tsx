/** Opens the sheet of an instrument from this device's own shelf, with or without a signal, and keeps it there. */

import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { useLocation, useRoute } from 'preact-iso';
import type { OwnTimes, VisitBrief, Workshop } from '../../server/contract/index.ts';
import { beginWriting } from '../device/being-written.ts';
import { refreshBriefs } from '../device/briefs.ts';
import { askToLast } from '../device/lasting.ts';
import { readOutbox, sendWaiting } from '../device/outbox.ts';
import { NoPhoto, smallPhoto } from '../device/photo.ts';
import {
  closeDraft,
  draftOf,
  dropDraft,
  keepDraft,
  keepingTrouble,
  keepPhoto,
  shelf,
} from '../device/store.ts';
import { newId } from '../form/new-id.ts';
import { Page } from '../shell/page.tsx';
import { freshDraft, type SheetDraft } from './draft.ts';
import { envelopeOf, faultsOf } from './envelope.ts';
import { estimateOf } from './estimate.ts';
import { rememberedName, rememberName } from './remembered-name.ts';
import { VisitSheetForm } from './sheet.tsx';
import type { Sheet } from './sheet-context.ts';
import { remember, type Step } from './undo.ts';
import '../visit/visit.css';
import './visit-sheet.css';

interface Known {
  readonly brief: VisitBrief;
  readonly workshop: Workshop;
  readonly ownTimes: Readonly<Record<string, OwnTimes>>;
  readonly draft: SheetDraft;
}

async function fromShelf(instrumentId: string): Promise<Known | null> {
  const db = await shelf();
  const [brief, meta, draft] = [
    await db.get('briefs', instrumentId),
    await db.get('meta', 'meta'),
    await draftOf(instrumentId),
  ];
  if (!brief || !meta) return null;
  return {
    brief,
    workshop: meta.workshop,
    ownTimes: meta.ownTimes,
    draft: draft ?? freshDraft(brief, rememberedName(), Date.now()),
  };
}

export function VisitSheetPage() {
  const { params } = useRoute();
  const instrumentId = params.id ?? '';
  const [known, setKnown] = useState<Known | null>(null);
  const [missing, setMissing] = useState<string | null>(null);
  useEffect(() => {
    let gone = false;
    const load = async () => {
      // What the service knows newest, if it answers soon; what the device knows otherwise.
      const fresh = refreshBriefs().catch(() => undefined);
      await Promise.race([fresh, new Promise((resolve) => setTimeout(resolve, 1200))]);
      let found = await fromShelf(instrumentId);
      if (!found) {
        await fresh;
        found = await fromShelf(instrumentId);
      }
      if (gone) return;
      if (found) setKnown(found);
      else setMissing('This instrument is not known on this device, and the service does not tell of it.');
    };
    load().catch((error: unknown) => setMissing(keepingTrouble(error)));
    return () => {
      gone = true;
    };
  }, [instrumentId]);
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
  const [trouble, setTrouble] = useState<string | null>(null);
  const now = useRef(draft);
  const closed = useRef(false);
  const faults = useMemo(() => faultsOf(draft, brief), [draft, brief]);

  useEffect(() => {
    void askToLast();
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

  const addPhotos = async (files: readonly File[], itemId: string | null) => {
    for (const file of files) {
      try {
        if (now.current.photos.length >= 60) throw new NoPhoto('A visit holds at most 60 photos.');
        const id = newId();
        setKept('keeping the photo …');
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
        setKept('on this device');
        setTrouble(
          error instanceof NoPhoto ? error.message : `The photo is not kept. ${keepingTrouble(error)}`,
        );
      }
    }
  };

  const close = async () => {
    const final = now.current;
    if (faultsOf(final, brief).length > 0 || closed.current) return;
    closed.current = true;
    try {
      const estimate = estimateOf(final, workshop, ownTimes);
      await closeDraft(final, {
        id: final.id,
        instrumentId: final.instrumentId,
        title: `${brief.roomName} · ${brief.name}`,
        body: envelopeOf(final, estimate, Date.now()),
        closedMs: Date.now(),
        photoIds: final.photos.map(({ id }) => id),
        state: 'waiting',
        frozen: false,
        said: null,
        contradicted: false,
        sentMs: null,
      });
      rememberName(final.by);
      await readOutbox();
      void sendWaiting();
      route('/device');
    } catch (error) {
      closed.current = false;
      setTrouble(keepingTrouble(error));
    }
  };

  const drop = async () => {
    if (!window.confirm('Throw this visit away, with its photos? This cannot be undone.')) return;
    closed.current = true;
    await dropDraft(now.current);
    route(`/instruments/${brief.instrumentId}`);
  };

  const sheet: Sheet = {
    draft,
    brief,
    workshop,
    ownTimes,
    faults,
    change,
    addPhotos: (files, itemId) => void addPhotos(files, itemId),
  };
  return (
    <Page title={`Visit to ${brief.name}`} narrow>
      <VisitSheetForm
        sheet={sheet}
        kept={kept}
        undo={undo ?? null}
        trouble={trouble}
        onClose={() => void close()}
        onDrop={() => void drop()}
      />
    </Page>
  );
}
