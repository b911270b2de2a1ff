/** Why a message was set aside, in plain words, and what helps. Every reason the service knows has its words. */

interface ReasonWords {
  readonly why: string;
  readonly helps: string;
  /** Whether another way of reading may mend it. */
  readonly onBench: boolean;
}

const needsProfile = 'Say on the bench how this gateway’s messages are to be read, then read them again.';

export const reasonWords: Readonly<Record<string, ReasonWords>> = {
  'not-json': { why: 'It is not JSON', helps: needsProfile, onBench: true },
  'not-cbor': {
    why: 'It is not whole CBOR',
    helps: 'See whether the sender cuts its messages short.',
    onBench: true,
  },
  'not-senml': { why: 'It is JSON of an unknown shape', helps: needsProfile, onBench: true },
  'not-line-protocol': {
    why: 'A line of it is no line protocol',
    helps: 'See what the sender writes; other lines of the message were taken.',
    onBench: true,
  },
  'not-mapped': {
    why: 'It does not have the shape that was set',
    helps: 'Look at it on the bench: a place may be named otherwise here.',
    onBench: true,
  },
  'unknown-unit': {
    why: 'Its unit is not known, or not one of what its name says',
    helps: 'Say the unit on the bench.',
    onBench: true,
  },
  'no-value': { why: 'Where a number should stand there is none', helps: needsProfile, onBench: true },
  'out-of-range': {
    why: 'No room is like that',
    helps: 'A unit or a factor may be wrong, which the bench mends; or the sensor is faulty.',
    onBench: true,
  },
  'time-too-old': {
    why: 'Its clock was never set',
    helps: 'Set the clock of the device, or have it leave the time out.',
    onBench: true,
  },
  'time-ahead': {
    why: 'Its clock is ahead',
    helps: 'Set the clock of the device. Read again later, what was ahead is taken.',
    onBench: true,
  },
  'beyond-retention': {
    why: 'It is older than what the store keeps',
    helps: 'Lengthen the retention of the store, then read it again.',
    onBench: false,
  },
  'other-topic': {
    why: 'The gateway may not publish there',
    helps:
      'Set its topic to readings/ and its own name, or below that. Where it cannot be set, say on the bench how its messages are read: from then on other topics are taken too.',
    onBench: true,
  },
  'too-large': { why: 'The message is too large', helps: 'Have it sent in smaller batches.', onBench: false },
  'wrong-password': {
    why: 'Wrong name or password',
    helps: 'See what the gateway is set to; the message was never read.',
    onBench: false,
  },
  subscribe: {
    why: 'It asked to be sent readings',
    helps: 'Gateways only publish here. Switch that off at the device; its readings come all the same.',
    onBench: false,
  },
  will: {
    why: 'It left a last will',
    helps: 'Nothing to do: wills are dropped, its readings are taken.',
    onBench: false,
  },
  retain: {
    why: 'It asked to have a message retained',
    helps:
      'Nothing to do: readings are taken as they come. What a broker elsewhere had kept from before is no reading of now, and is left out.',
    onBench: false,
  },
  'other-protocol': {
    why: 'It speaks another protocol',
    helps: 'This door takes MQTT 3.1.1; set the device to that.',
    onBench: false,
  },
  'unknown-gateway': {
    why: 'No gateway has that name',
    helps: 'Add the gateway, then read its messages again on the bench.',
    onBench: false,
  },
  'possible-gap': {
    why: 'Readings may be missing',
    helps:
      'The broker elsewhere lost what waited there, or may have: what was sent meanwhile is lost unless the senders kept it.',
    onBench: false,
  },
  'shared-client-id': {
    why: 'Two clients share one id',
    helps: 'Give each its own client id; they throw each other out.',
    onBench: false,
  },
};

const unknown: ReasonWords = { why: 'It could not be taken', helps: '', onBench: true };
export const wordsFor = (reason: string): ReasonWords => reasonWords[reason] ?? unknown;
