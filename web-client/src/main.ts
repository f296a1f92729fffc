// Where the page starts.
// Belongs here: mounting. Does not belong here: anything a screen needs.
import { mount } from 'svelte';
import App from './App.svelte';
import './app.css';
import { looks } from './lib/theme.svelte';

looks.apply();
mount(App, { target: document.getElementById('app')! });
