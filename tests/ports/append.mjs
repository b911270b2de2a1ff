// A process of its own that appends to a readings file others append to: append.mjs COMPILED-INDEX FILE OFFSET
const [, , index, file, offset] = process.argv;
const { openReadings } = await import(index);
const store = openReadings(file);
const total = { stored: 0, duplicates: 0, conflicts: 0 };
for (let batch = 0; batch < 150; batch += 1) {
  const readings = Array.from({ length: 20 }, (_, at) => {
    const number = Number(offset) + batch * 20 + at;
    return {
      organisation: 'o',
      sensor: 's',
      timeMs: 1.7e12 + number * 60_000,
      humidityPct: 40 + (number % 100) / 10,
    };
  });
  const told = await store.append(readings);
  for (const key of Object.keys(total)) total[key] += told[key];
}
await store.stop();
process.stdout.write(JSON.stringify(total));
