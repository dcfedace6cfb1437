// The phone itself: sun, hand, gloves, lock, storage, and the worker that lets
// the page open with no line.

import { $, press } from './dom.js';
import { keep, kept } from './db.js';

const settings = { sun: false, left: false, gloves: false };

function apply() {
  document.documentElement.toggleAttribute('data-sun', settings.sun);
  document.documentElement.toggleAttribute('data-gloves', settings.gloves);
  $('#deck').dataset.hand = settings.left ? 'left' : 'right';
  press($('#sun'), settings.sun);
  press($('#hand'), settings.left);
  press($('#gloves'), settings.gloves);
}

function toggle(name) {
  settings[name] = !settings[name];
  apply();
  keep('settings', { ...settings });
}

function startLock() {
  const dialog = $('#locked');
  $('#lock').addEventListener('click', () => { $('#unlock-2').disabled = true; dialog.showModal(); });
  $('#unlock-1').addEventListener('click', () => { $('#unlock-2').disabled = false; });
  $('#unlock-2').addEventListener('click', () => dialog.close());
  dialog.addEventListener('cancel', (e) => e.preventDefault());
}

export async function startPhone() {
  Object.assign(settings, await kept('settings'));
  apply();
  $('#sun').addEventListener('click', () => toggle('sun'));
  $('#hand').addEventListener('click', () => toggle('left'));
  $('#gloves').addEventListener('click', () => toggle('gloves'));
  startLock();
}

/** Asks that the browser keep what is saved here; '' when it will. */
export async function askToPersist() {
  if (!navigator.storage?.persist) return 'This browser can’t promise to keep entries. Send them soon.';
  if (await navigator.storage.persisted()) return '';
  if (await navigator.storage.persist()) return '';
  return 'This browser may clear entries when space is short. Put the Deck on the home screen, and send soon.';
}

export async function startWorker() {
  if (!navigator.serviceWorker) return;
  await navigator.serviceWorker.register('/sw.js').catch(() => undefined); // without it the Deck works while the page is open
}
