/** A profile while it is being written: every field as typed. */
import type { GatewayProfile } from '../../../server/contract/index.ts';
import { typed } from '../../words/numbers.ts';

type Mapped = Extract<GatewayProfile, { kind: 'mapped' }>;
type Value = Mapped['values'][number];
export type Quantity = Value['quantity'];
export type Unit = NonNullable<Value['unit']>;

export interface ValueDraft {
  /** Where it stands: a JSON Pointer, or the level of the topic that says what is measured. */
  readonly at: string;
  readonly quantity: Quantity;
  readonly unit: Unit | '';
  readonly scale: string;
  /** Where a word stands that says whether this is the value, and that word; null: it always is. */
  readonly where: { readonly at: string; readonly is: string } | null;
}

export interface Draft {
  readonly kind: GatewayProfile['kind'];
  /** Whether a message holds a list of entries. */
  readonly batch: boolean;
  readonly each: string;
  readonly sensor: string;
  readonly prefix: string;
  readonly timeAt: string;
  readonly timeAs: 'iso' | 's' | 'ms';
  readonly topic: string;
  readonly values: readonly ValueDraft[];
}

const nothing: Draft = {
  kind: 'senml',
  batch: false,
  each: '',
  sensor: '',
  prefix: '',
  timeAt: '',
  timeAs: 'iso',
  topic: 'house/{sensor}/{quantity}',
  values: [],
};

export const unitsOf: Readonly<Record<Quantity, readonly (readonly [Unit | '', string])[]>> = {
  humidityPct: [
    ['', '%'],
    ['ratio', '0 to 1'],
  ],
  temperatureC: [
    ['', '°C'],
    ['degF', '°F'],
    ['K', 'kelvin'],
  ],
  batteryPct: [
    ['', '%'],
    ['ratio', '0 to 1'],
  ],
};

const valueDraft = (at: string, { quantity, unit, scale, where }: Omit<Value, 'at'>): ValueDraft => ({
  at,
  quantity,
  // A unit that is the usual one need not be said.
  unit: unitsOf[quantity].some(([known]) => known === unit) ? (unit ?? '') : '',
  scale: scale === undefined ? '' : String(scale),
  where: where ?? null,
});

export function draftOf(profile: GatewayProfile): Draft {
  if (profile.kind === 'senml') return nothing;
  if (profile.kind === 'plain-value') {
    return {
      ...nothing,
      kind: 'plain-value',
      topic: profile.topic,
      prefix: profile.prefix ?? '',
      values: Object.entries(profile.quantities).map(([name, measure]) => valueDraft(name, measure)),
    };
  }
  return {
    ...nothing,
    kind: 'mapped',
    batch: profile.each !== undefined,
    each: profile.each ?? '',
    sensor: profile.sensor ?? '',
    prefix: profile.prefix ?? '',
    timeAt: profile.time?.at ?? '',
    timeAs: profile.time?.as ?? 'iso',
    values: profile.values.map((value) => valueDraft(value.at, value)),
  };
}

const given = <K extends string>(key: K, text: string): { [P in K]?: string } =>
  text.trim() === '' ? {} : ({ [key]: text.trim() } as { [P in K]?: string });

/** NaN goes along and is refused by the service in its own words. */
function measureOf({ quantity, unit, scale }: ValueDraft): Omit<Value, 'at' | 'where'> {
  const factor = typed(scale);
  return { quantity, ...(unit === '' ? {} : { unit }), ...(factor === null ? {} : { scale: factor }) };
}

export function profileOf(draft: Draft): GatewayProfile {
  if (draft.kind === 'senml') return { kind: 'senml' };
  if (draft.kind === 'plain-value') {
    return {
      kind: 'plain-value',
      topic: draft.topic.trim(),
      ...given('prefix', draft.prefix),
      quantities: Object.fromEntries(
        draft.values.filter(({ at }) => at.trim() !== '').map((value) => [value.at.trim(), measureOf(value)]),
      ),
    };
  }
  return {
    kind: 'mapped',
    ...(draft.batch ? { each: draft.each.trim() } : {}),
    ...given('sensor', draft.sensor),
    ...given('prefix', draft.prefix),
    ...(draft.timeAt.trim() === '' ? {} : { time: { at: draft.timeAt.trim(), as: draft.timeAs } }),
    values: draft.values
      .filter(({ at }) => at.trim() !== '')
      .map((value) => ({
        at: value.at.trim(),
        ...(value.where === null ? {} : { where: { at: value.where.at.trim(), is: value.where.is.trim() } }),
        ...measureOf(value),
      })),
  };
}
