// Where the page starts.
// Belongs here: mounting, and keeping the page on the device (shell-worker.js). Does not belong here: anything a screen needs.
import { mount } from 'svelte';
import App from './App.svelte';
import './app.css';
import { looks } from './lib/theme.svelte';

looks.apply();
mount(App, { target: document.getElementById('app')! });

// Only what was built can be kept; in development every file is asked for.
if (import.meta.env.PROD && 'serviceWorker' in navigator) void navigator.serviceWorker.register('/sw.js').catch(() => undefined);
