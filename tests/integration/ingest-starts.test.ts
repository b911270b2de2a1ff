/** Whether a broker elsewhere was started again, told from its uptime alone: on a timeline of its own. */
import { describe, expect, test } from 'vitest';
import { type StartWatch, watchStarts } from '../../ingest/sources/starts.ts';

const wallMs = Date.UTC(2026, 0, 5);

/** Seconds pass as the story says; the clock of the machine can be set apart from them. */
class Story {
  readonly kept = new Map<string, number>();
  readonly told: string[] = [];
  clockOffByS = 0;
  #nowS = 1_000;
  /** Ticks begin anew with each process. */
  #bornS = 999.5;
  readonly #ticks = (): number => (this.#nowS - this.#bornS) * 1_000;
  #watch: StartWatch = this.#begin();

  #begin(): StartWatch {
    return watchStarts({
      ...{ host: 'b:1883', now: () => wallMs + (this.#nowS + this.clockOffByS) * 1_000, ticks: this.#ticks },
      memory: {
        recall: async (name) => this.kept.get(name) ?? null,
        keep: async (name, value) => void this.kept.set(name, value),
      },
      again: async (startedMs) => void this.told.push(new Date(startedMs).toISOString()),
    });
  }
  /** The broker's uptime comes at that second, held up by so much. */
  async hears(atS: number, uptimeS: number, { retained = false, heldUpS = 0 } = {}): Promise<void> {
    this.#nowS = atS + heldUpS;
    await this.#watch.heard(uptimeS, retained, this.#ticks());
  }
  connects(): void {
    this.#watch.connected();
  }
  async ourRestart(atS: number): Promise<void> {
    await this.#watch.stop();
    this.#nowS = atS;
    this.#bornS = atS - 0.5;
    this.#watch = this.#begin();
  }
}
const iso = (atS: number) => new Date(wallMs + atS * 1_000).toISOString();

/** A broker started at 990 that speaks every ten seconds, heard over one connection. */
async function known(): Promise<Story> {
  const story = new Story();
  story.connects();
  await story.hears(1_003, 10, { retained: true });
  await story.hears(1_010, 20);
  await story.hears(1_020, 30);
  expect(story.told).toEqual([]);
  return story;
}

describe('a restart of the broker', () => {
  test('an uptime that went back is told at once', async () => {
    const story = await known();
    story.connects();
    await story.hears(1_032, 0, { retained: true });
    expect(story.told).toEqual([iso(1_032)]);
    await story.hears(1_040, 10);
    await story.hears(1_050, 20);
    await story.hears(1_060, 30);
    expect(story.told).toHaveLength(1);
  });
  test('one within seconds of the last start shows though its uptime has overtaken what was heard', async () => {
    const story = await known();
    // Started again at 1,022; we are back when it has run for longer than the run before was heard.
    story.connects();
    await story.hears(1_059, 30, { retained: true });
    await story.hears(1_062, 40);
    expect(story.told).toEqual([]);
    await story.hears(1_072, 50);
    expect(story.told).toEqual([iso(1_022)]);
  });
  test('the same while we were away, by the clock', async () => {
    const story = await known();
    await story.ourRestart(1_055);
    story.connects();
    await story.hears(1_062, 40);
    await story.hears(1_072, 50);
    expect(story.told).toEqual([iso(1_022)]);
  });
  test('a broker that lived only for seconds, heard of once, from what waited there', async () => {
    const story = new Story();
    story.connects();
    await story.hears(1_001, 0, { retained: true });
    // Started again at 1,004, and at 1,007.
    story.connects();
    await story.hears(1_005, 0, { retained: true });
    story.connects();
    await story.hears(1_008, 0, { retained: true });
    expect(story.told).toEqual([]);
    await story.hears(1_017, 10);
    await story.hears(1_027, 20);
    expect(story.told).toEqual([iso(1_007)]);
    await story.hears(1_037, 30);
    expect(story.told).toHaveLength(1);
  });
  test('the same, and we were stopped before it could be judged', async () => {
    const story = new Story();
    story.connects();
    await story.hears(1_001, 0, { retained: true });
    await story.ourRestart(1_030);
    story.connects();
    await story.hears(1_030, 10, { retained: true });
    await story.hears(1_037, 20);
    await story.hears(1_047, 30);
    expect(story.told).toEqual([iso(1_017)]);
  });
  test('a restart before the other could be judged is not forgotten', async () => {
    const story = await known();
    story.connects();
    await story.hears(1_062, 40);
    story.connects();
    await story.hears(1_122, 100);
    await story.hears(1_132, 110);
    expect(story.told).toEqual([iso(1_022)]);
  });
});

describe('no restart', () => {
  test('a message that was held up, also after the connection broke', async () => {
    const story = await known();
    await story.hears(1_030, 40, { heldUpS: 40 });
    story.connects();
    await story.hears(1_080, 90, { heldUpS: 9 });
    await story.hears(1_090, 100);
    await story.hears(1_100, 110, { heldUpS: 9 });
    expect(story.told).toEqual([]);
  });
  test('a clock that was set while we listened, and was set back', async () => {
    const story = await known();
    story.clockOffByS = 86_400;
    await story.hears(1_090, 100);
    story.connects();
    await story.hears(1_100, 110);
    await story.hears(1_110, 120);
    story.clockOffByS = 0;
    await story.ourRestart(1_115);
    story.connects();
    await story.hears(1_120, 130);
    await story.hears(1_130, 140);
    expect(story.told).toEqual([]);
  });
  test('what waited at the broker says too late a start, and is put right by what comes', async () => {
    const story = new Story();
    story.connects();
    await story.hears(1_009, 0, { retained: true });
    story.connects();
    await story.hears(1_012, 10, { retained: true });
    await story.hears(1_020, 20);
    await story.hears(1_030, 30);
    expect(story.told).toEqual([]);
  });
  test('whole seconds, and what we first come to know of a broker', async () => {
    const story = await known();
    story.connects();
    await story.hears(1_040.9, 50);
    await story.hears(1_050.9, 60);
    expect(story.told).toEqual([]);
  });
});
