import { createHash } from 'node:crypto';
import path from 'node:path';
import { defineConfig, type Plugin } from 'vite';

/** The faces every page opens with; the others are fetched when a page uses them. */
const firstFaces = [
  'source-sans-3-latin-400-normal',
  'source-sans-3-latin-600-normal',
  'source-serif-4-latin-400-normal',
  'source-serif-4-latin-600-normal',
];

/** Names the first faces in index.html, so that text is set once and does not jump when a font arrives. */
function preloadFaces(): Plugin {
  return {
    name: 'preload-faces',
    transformIndexHtml: {
      order: 'post',
      handler(_html, { bundle }) {
        return Object.keys(bundle ?? {})
          .filter((file) => file.endsWith('.woff2') && firstFaces.some((face) => file.includes(`${face}-`)))
          .map((file) => ({
            tag: 'link',
            attrs: { rel: 'preload', as: 'font', type: 'font/woff2', crossorigin: true, href: `/${file}` },
            injectTo: 'head' as const,
          }));
      },
    },
  };
}

/** Tells the service worker which files there are, and gives it a version that changes with any of them. */
function offlineWorker(): Plugin {
  return {
    name: 'offline-worker',
    generateBundle: {
      order: 'post',
      handler(_options, bundle) {
        const worker = bundle['worker.js'];
        if (worker?.type !== 'chunk') this.error('the service worker was not built');
        const files = Object.keys(bundle).filter((file) => file !== 'worker.js' && !file.endsWith('.map'));
        const hash = createHash('sha256');
        for (const file of files.toSorted()) {
          const one = bundle[file];
          hash.update(file).update(one?.type === 'chunk' ? one.code : (one?.source ?? ''));
        }
        hash.update(worker.code);
        const built = { version: hash.digest('hex').slice(0, 12), files: files.map((file) => `/${file}`) };
        worker.code = worker.code.replace('__BUILT__', () => JSON.stringify(built));
      },
    },
  };
}

export default defineConfig({
  root: import.meta.dirname,
  plugins: [preloadFaces(), offlineWorker()],
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  build: {
    outDir: path.resolve(import.meta.dirname, '../.build/web'),
    emptyOutDir: true,
    target: 'es2022',
    // No data: URIs, so that the content security policy can stay at 'self'.
    assetsInlineLimit: 0,
    rolldownOptions: {
      input: {
        index: path.resolve(import.meta.dirname, 'index.html'),
        worker: path.resolve(import.meta.dirname, 'worker/worker.ts'),
      },
      output: {
        // Its address is its own for ever; everything else is named by what is in it.
        entryFileNames: ({ name }) => (name === 'worker' ? 'worker.js' : 'assets/[name]-[hash].js'),
      },
    },
  },
  // While drawing pages: `npx vite web --config web/vite.config.ts` beside a running service.
  server: {
    proxy: Object.fromEntries(
      ['/api', '/health'].map((prefix) => [
        prefix,
        { target: `http://127.0.0.1:${process.env.PORT ?? 8080}` },
      ]),
    ),
  },
});
