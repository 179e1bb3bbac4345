import { svelte } from '@sveltejs/vite-plugin-svelte';
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { defineConfig, type Plugin } from 'vite';

/** Writes sw.js beside the page: the worker's text with the list of everything that was built. */
function worker(): Plugin {
  return {
    name: 'fathomline-worker',
    apply: 'build',
    generateBundle(_options, bundle) {
      const files = Object.keys(bundle).filter((name) => !name.endsWith('.map') && name !== 'sw.js');
      const list = ['/', '/manifest.webmanifest', '/icon.svg', ...files.filter((name) => name !== 'index.html').map((name) => `/${name}`)];
      const hash = createHash('sha256');
      for (const name of files.sort()) {
        const item = bundle[name];
        hash.update(name).update(item?.type === 'chunk' ? item.code : (item?.source ?? ''));
      }
      const text = readFileSync(new URL('./src/link/worker.js', import.meta.url), 'utf8')
        .replace('__FILES__', JSON.stringify(list))
        .replace('__VERSION__', hash.digest('hex').slice(0, 12));
      this.emitFile({ type: 'asset', fileName: 'sw.js', source: text });
    },
  };
}

export default defineConfig({
  plugins: [svelte(), worker()],
  build: { target: 'es2022', modulePreload: { polyfill: false }, assetsInlineLimit: 0, chunkSizeWarningLimit: 400 },
  test: { include: ['src/**/*.test.ts'], environment: 'node' },
} as Parameters<typeof defineConfig>[0]);
