// Starts the page: styles, guards of touch, the link to the desk, the rooms.
import '@fontsource-variable/atkinson-hyperlegible-next/wght.css';
import './parts/tokens.css';
import './parts/parts.css';
import './parts/rooms.css';
import { mount } from 'svelte';
import App from './App.svelte';
import { link } from './link/link.svelte';
import { readySound } from './parts/signal';
import { guardTouches } from './parts/touch';
import { ui } from './parts/ui.svelte';

guardTouches(document);
readySound();
ui.start();
void link.start();
const target = document.getElementById('app');
target?.replaceChildren();
if (target) mount(App, { target });
if ('serviceWorker' in navigator && import.meta.env.PROD) {
  void navigator.serviceWorker.register('/sw.js').catch(() => {
    // Without a secure address there is no worker: the page works, but a reload needs the desk.
  });
}
// The map comes once the page can be used.
addEventListener('load', () => setTimeout(() => void import('./map/site-map'), 400));
