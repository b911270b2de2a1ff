/** Counters for whoever runs the service, in the Prometheus text format. */
import { collectDefaultMetrics, Gauge, Registry } from 'prom-client';
import type { Pipeline } from '../../ingest/index.ts';
import type { OutsideState } from './handlers.ts';

export function createMetrics(
  pipeline: Pipeline,
  clients: () => number,
  outside: OutsideState | null,
): Registry {
  const registry = new Registry();
  collectDefaultMetrics({ register: registry });
  new Gauge({
    name: 'crownwatch_mqtt_clients',
    help: 'Gateways connected to the embedded broker',
    registers: [registry],
    collect() {
      this.set(clients());
    },
  });
  // Kept by ingest and read here: nothing is counted twice.
  new Gauge({
    name: 'crownwatch_values',
    help: 'Values since the start, by what became of them',
    labelNames: ['outcome'],
    registers: [registry],
    collect() {
      const { stored, duplicates, conflicts } = pipeline.tally();
      this.set({ outcome: 'stored' }, stored);
      this.set({ outcome: 'duplicate' }, duplicates);
      this.set({ outcome: 'conflict' }, conflicts);
    },
  });
  new Gauge({
    name: 'crownwatch_messages_total',
    help: 'Messages received since the start',
    registers: [registry],
    collect() {
      this.set(pipeline.tally().received);
    },
  });
  new Gauge({
    name: 'crownwatch_refused',
    help: 'What was set aside since the start, by reason',
    labelNames: ['reason'],
    registers: [registry],
    collect() {
      for (const [reason, count] of Object.entries(pipeline.tally().refused)) this.set({ reason }, count);
    },
  });
  if (outside) {
    new Gauge({
      name: 'crownwatch_outside_broker_connected',
      help: '1 while the broker elsewhere is connected',
      registers: [registry],
      collect() {
        this.set(outside.connected() ? 1 : 0);
      },
    });
    new Gauge({
      name: 'crownwatch_outside_broker_gaps',
      help: 'Times since the start that the broker elsewhere had forgotten our session',
      registers: [registry],
      collect() {
        this.set(outside.possibleGaps());
      },
    });
    new Gauge({
      name: 'crownwatch_outside_broker_dropped',
      help: 'Messages the broker elsewhere says it has dropped since its own start; NaN where it does not say',
      registers: [registry],
      collect() {
        this.set(outside.dropped() ?? Number.NaN);
      },
    });
  }
  return registry;
}
