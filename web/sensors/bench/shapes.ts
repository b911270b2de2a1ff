/** Ready profiles for common shapes of messages, each with a message it reads. Shapes, not makes. */
import type { GatewayProfile } from '../../../server/contract/index.ts';

export interface Shape {
  readonly name: string;
  readonly example: string;
  readonly profile: GatewayProfile;
}

export const shapes: readonly Shape[] = [
  {
    name: 'one object: a device, a time, named values',
    example: '{"device":"north-7","time":"2026-03-01T10:00:00Z","humidity":42.5,"temperature":20.8}',
    profile: {
      kind: 'mapped',
      sensor: '/device',
      time: { at: '/time', as: 'iso' },
      values: [
        { at: '/humidity', quantity: 'humidityPct' },
        { at: '/temperature', quantity: 'temperatureC' },
        { at: '/battery', quantity: 'batteryPct' },
      ],
    },
  },
  {
    name: 'one object of values; the topic names the device',
    example: '{"humidity":42.5,"temperature":20.8,"battery":90}',
    profile: {
      kind: 'mapped',
      values: [
        { at: '/humidity', quantity: 'humidityPct' },
        { at: '/temperature', quantity: 'temperatureC' },
        { at: '/battery', quantity: 'batteryPct' },
      ],
    },
  },
  {
    name: 'a batch: the device once, a list of timed entries',
    example:
      '{"device":"north-7","entries":[{"ts":1772359200,"rh":42.5,"t":20.8},{"ts":1772359800,"rh":42.6,"t":20.7}]}',
    profile: {
      kind: 'mapped',
      each: '/entries',
      sensor: '^/device',
      time: { at: '/ts', as: 's' },
      values: [
        { at: '/rh', quantity: 'humidityPct' },
        { at: '/t', quantity: 'temperatureC' },
      ],
    },
  },
  {
    name: 'a radio uplink: device and payload nested, time of receiving around them',
    example:
      '{"device":{"eui":"70B3D57ED0000001"},"received_at":"2026-03-01T10:00:00Z","payload":{"humidity":42.5,"temperature":20.8}}',
    profile: {
      kind: 'mapped',
      sensor: '/device/eui',
      prefix: 'urn:dev:eui:',
      time: { at: '/received_at', as: 'iso' },
      values: [
        { at: '/payload/humidity', quantity: 'humidityPct' },
        { at: '/payload/temperature', quantity: 'temperatureC' },
        { at: '/payload/battery', quantity: 'batteryPct' },
      ],
    },
  },
  {
    name: '°F in tenths, humidity as a ratio',
    example: '{"id":"north-7","temp_f":698,"rh":0.425}',
    profile: {
      kind: 'mapped',
      sensor: '/id',
      values: [
        { at: '/temp_f', quantity: 'temperatureC', unit: 'degF', scale: 0.1 },
        { at: '/rh', quantity: 'humidityPct', unit: 'ratio' },
      ],
    },
  },
  {
    name: 'one plain number a message; the topic says the rest',
    example: '42.5',
    profile: {
      kind: 'plain-value',
      topic: 'readings/+/{sensor}/{quantity}',
      quantities: {
        humidity: { quantity: 'humidityPct' },
        temperature: { quantity: 'temperatureC' },
        battery: { quantity: 'batteryPct' },
      },
    },
  },
  {
    name: 'line protocol: a tag for the device, fields for the values',
    example: 'air,sensor=north-7 humidity=42.5,temperature=20.8 1772359200000000000',
    profile: {
      kind: 'mapped',
      sensor: '/tags/sensor',
      time: { at: '/timeMs', as: 'ms' },
      values: [
        { at: '/fields/humidity', quantity: 'humidityPct' },
        { at: '/fields/temperature', quantity: 'temperatureC' },
      ],
    },
  },
  {
    name: 'SenML, JSON or CBOR (RFC 8428)',
    example: '[{"bn":"north-7:","n":"humidity","u":"%RH","v":42.5},{"n":"temperature","u":"Cel","v":20.8}]',
    profile: { kind: 'senml' },
  },
];
