// How the client is built, served in development and tested.
// Belongs here: tool settings. Does not belong here: anything the app itself reads.
import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vitest/config';
import { shellWorker } from './scripts/shell-worker.ts';

/** Where the API answers in development; the built client is served by the API itself. */
const api = process.env.COUNTERSIGN_API ?? 'http://127.0.0.1:8080';
const proxy = {
  '/api': { target: api },
  '/problems': { target: api },
  '/live': { target: api, ws: true },
};

export default defineConfig({
  plugins: [svelte(), shellWorker()],
  // light-dark() in the theme is kept as written from these versions on.
  build: { target: ['chrome123', 'firefox120', 'safari17.5'], cssTarget: ['chrome123', 'firefox120', 'safari17.5'] },
  server: { proxy },
  preview: { proxy },
  resolve: process.env.VITEST ? { conditions: ['browser'] } : undefined,
  test: {
    environment: 'jsdom',
    // Ships components as source, which only the plugin can compile.
    server: { deps: { inline: ['sv-router'] } },
    setupFiles: ['src/test/setup.ts'],
    include: ['src/**/*.test.ts'],
  },
});
