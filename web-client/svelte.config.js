// Compiler settings shared by the build, the tests and svelte-check.
import { vitePreprocess } from '@sveltejs/vite-plugin-svelte';

export default { preprocess: vitePreprocess(), compilerOptions: { runes: true } };
