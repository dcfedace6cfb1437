// Small helpers for the page.

export const $ = (selector, root = document) => root.querySelector(selector);
export const $$ = (selector, root = document) => [...root.querySelectorAll(selector)];

/** Makes an element: attributes by name, then children, texts among them. */
export function el(name, attributes = {}, ...children) {
  const out = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value !== undefined && value !== false) out.setAttribute(key, value === true ? '' : value);
  }
  out.append(...children.filter((c) => c !== undefined && c !== ''));
  return out;
}

export function button(attributes, ...children) {
  return el('button', { type: 'button', ...attributes }, ...children);
}

/** The bucket tape of an animal; a space where it has none. */
export function tape(number) {
  const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg');
  svg.setAttribute('class', 'tape');
  svg.setAttribute('aria-hidden', 'true');
  if (!number) return svg;
  const use = document.createElementNS('http://www.w3.org/2000/svg', 'use');
  use.setAttribute('href', `#t${number}`);
  svg.append(use);
  return svg;
}

const filled = new WeakMap();

/**
 * Puts nodes into a place, unless they say what stands there already: a button
 * that is replaced under a finger would lose the touch. The focus stays put.
 */
export function fill(place, nodes) {
  const says = nodes.map((n) => n.outerHTML).join('');
  if (filled.get(place) === says) return;
  filled.set(place, says);
  const at = $$('button', place).indexOf(document.activeElement);
  place.replaceChildren(...nodes);
  if (at >= 0) $$('button', place)[at]?.focus();
}

export const press = (node, on) => node.setAttribute('aria-pressed', String(on));

/** Says something to those who can't see the page. */
export function say(text) { $('#say').textContent = text; }

/** Dialogs close on their way back and on a touch outside changes nothing. */
export function closable(dialog) {
  for (const b of $$('[data-close]', dialog)) b.addEventListener('click', () => dialog.close());
}

/**
 * A second touch on the same control within 400 ms is water, not a person.
 * Digits are left alone: 44 kg has two of them.
 */
export function ignoreDrips() {
  let last = null;
  let at = -Infinity;
  document.addEventListener('click', (e) => {
    const control = e.target.closest('button');
    if (!control || control.dataset.key) return;
    const now = performance.now();
    if (control === last && now - at < 400) {
      e.preventDefault();
      e.stopImmediatePropagation();
      return;
    }
    last = control;
    at = now;
  }, { capture: true });
}
