// A process of its own that only collects: collector.mjs COMPILED-INDEX FILE FULL|NORMAL. It says its port and process id, then runs.
const [, , index, file, synchronous] = process.argv;
const { createPipeline, openReadings, startBroker } = await import(index);
const store = openReadings(file, { synchronous });
const pipeline = createPipeline({ store, refused: { setAside: async () => {} } });
const byPassword = async (name) => ({ id: name, organisation: 'conservatory', name });
const broker = await startBroker({ host: '127.0.0.1', port: 0, gateways: { byPassword }, pipeline });
process.stdout.write(`${broker.port} ${process.pid}\n`);
process.once('SIGTERM', async () => {
  await broker.stop();
  await pipeline.stop();
  await store.stop();
  process.exit(0);
});
