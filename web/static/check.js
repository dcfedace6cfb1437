// Check: a look over the body in one pass. One touch says that all is fine; a
// region that is touched asks what is seen there. What stands open from before
// is closed here. The words say what is seen and never what it means.

import { $, $$, button, closable, el, fill, press } from './dom.js';
import { lastCheck, openFindings } from './care.js';
import { clock, longDate } from './sheet.js';
import { large } from './encounter.js';
import { stated, wire } from './fact.js';
import { dropPhotos, showPhoto, takePhoto } from './photo.js';

/** Usual words of what is seen at each region; common practice, no source. */
export const seenAt = {
  eyes: ['half shut', 'watery', 'red', 'cloudy', 'discharge', 'swollen'],
  ears: ['discharge', 'swollen', 'red', 'shakes head', 'scratches', 'wound'],
  mouth: ['red gums', 'bleeding', 'chipped tooth', 'drooling', 'swollen', 'smell'],
  whiskers: ['broken', 'missing', 'swollen', 'sore'],
  skin: ['wound', 'scratch', 'bare patch', 'lump', 'flaking', 'swollen'],
  flippers: ['cut', 'scrape', 'swollen', 'held up', 'nail broken', 'limping'],
  belly: ['swollen', 'tense', 'scratch', 'guards it'],
  breathing: ['cough', 'fast', 'noisy', 'mucus', 'mouth open', 'sneezing'],
  stool: ['loose', 'none seen', 'blood', 'pale', 'worms seen', 'smell'],
  behaviour: ['slow', 'apart', 'restless', 'unsteady', 'off food', 'sleepy'],
  other: [],
};
const hyphened = { whiskers: 'whisk\u00aders', breathing: 'breath\u00ading', behaviour: 'behav\u00adiour', unsteady: 'un\u00adsteady', discharge: 'dis\u00adcharge', scratches: 'scratch\u00ades', restless: 'rest\u00adless' }; // on narrow buttons
export const outcomes = { healed: 'healed', veterinarian_saw: 'the veterinarian has seen it', harmless: 'harmless', mistaken: 'seen by mistake' };
const blank = { region: '', words: [], own: '', urgent: false, photo: '', findings: [] };

/** What a check says, in one line. */
export function checkWords({ findings = [] }) {
  if (findings.length === 0) return 'Looked over, nothing found';
  return `Looked over: ${findings.map((f) => `${f.region} ${f.word}${f.urgent ? ' (tell the veterinarian now)' : ''}`).join('; ')}`;
}

/** The photos that half-made checks name. */
export const draftedPhotos = (draft) => Object.values(draft.checks).flatMap((c) => [c.photo, ...c.findings.map((f) => f.photo)]).filter(Boolean);

export class CheckPad {
  #deck;
  #closing = null;
  #busy = false;
  #shown = '';

  constructor(deck) {
    this.#deck = deck;
    closable($('#close-finding'));
    fill($('#check-regions'), Object.keys(seenAt).map((r) => this.#regionButton(r)));
    $('#seen-own').addEventListener('input', (e) => { this.#change({ own: e.target.value }); this.#drawGo(); });
    $('#urgent').addEventListener('click', () => this.#set({ urgent: !this.#half.urgent }));
    for (const id of ['#photo-take', '#photo-choose']) $(id).addEventListener('change', (e) => this.#photo(e.target));
    $('#photo-drop').addEventListener('click', () => this.#dropPhoto());
    $('#check-back').addEventListener('click', () => this.#leave());
    $('#check-go').addEventListener('click', () => (this.#half.region ? this.#add() : this.#save()));
    for (const b of $$('[data-outcome-of]')) b.addEventListener('click', () => this.#close(b.dataset.outcomeOf));
  }

  /** The half-made check of the animal; each animal has its own. */
  get #half() { return { ...blank, ...this.#deck.draft.checks[this.#deck.animal.id] }; }

  #change(some) {
    const { draft, animal } = this.#deck;
    this.#deck.change({ checks: { ...draft.checks, [animal.id]: { ...this.#half, ...some } } });
  }

  #set(some) {
    this.#change(some);
    this.draw();
  }

  draw() {
    const { region } = this.#half;
    $('#check-look').hidden = Boolean(region);
    $('#check-seen').hidden = !region;
    $('#check-back').hidden = !region;
    if (region) this.#drawSeen();
    else this.#drawLook();
    this.#drawGo();
  }

  #drawLook() {
    const { animal } = this.#deck;
    const { findings } = this.#half;
    fill($('#open-findings'), openFindings(this.#deck, animal).map((f) => this.#openRow(f)));
    fill($('#found'), findings.map((f) => this.#foundRow(f)));
    for (const b of $$('[data-look]')) press(b, findings.some((f) => f.region === b.dataset.look));
  }

  #since(at) {
    const { zone } = this.#deck.sheet;
    return Date.now() - at < 6 * 24 * 3600_000 ? clock(at, zone) : longDate(at, zone);
  }

  #openRow(f) {
    const b = button({ 'data-close-finding': `${f.check} ${f.region}`, 'aria-label': `Close: ${f.region} ${f.word}` }, 'Close');
    b.addEventListener('click', () => this.#ask(f));
    const says = [`since ${this.#since(Date.parse(f.since))}, ${f.by}`, f.photo && 'photo'].filter(Boolean).join(', ');
    return el('li', { class: f.urgent ? 'urgent' : undefined }, el('div', {}, `${f.urgent ? '▲ ' : ''}${large(f.region)}: ${f.word}`, el('small', {}, says)), b);
  }

  #foundRow(f) {
    const b = button({ 'data-unfind': f.region, 'aria-label': `Take away: ${f.region} ${f.word}` }, 'Take away');
    b.addEventListener('click', () => this.#unfind(f.region));
    return el('li', {}, el('div', {}, `${f.urgent ? '▲ ' : ''}${large(f.region)}: ${f.word}`, el('small', {}, ['not saved yet', f.photo && 'with a photo'].filter(Boolean).join(', '))), b);
  }

  #noted(region) { return this.#half.findings.find((f) => f.region === region); }

  async #unfind(region) {
    const { photo } = this.#noted(region);
    this.#set({ findings: this.#half.findings.filter((f) => f.region !== region) });
    if (photo) await dropPhotos([photo]);
  }

  #regionButton(region) {
    const b = button({ 'data-look': region, 'aria-pressed': 'false' }, large(hyphened[region] ?? region));
    b.addEventListener('click', () => this.#look(region));
    return b;
  }

  /** Asks what is seen at a region, or anew where something is noted of it. */
  #look(region) {
    const { words, own, urgent, photo } = this.#noted(region) ?? blank;
    this.#set({ region, words, own, urgent, photo });
    $('#pad-check button:not([hidden] *)')?.focus({ preventScroll: true });
  }

  #drawSeen() {
    const { region, words, own, urgent, photo } = this.#half;
    $('#seen-ask').textContent = `${large(region)}: what do you see?`;
    fill($('#seen-words'), seenAt[region].map((w) => this.#wordButton(w, words)));
    if ($('#seen-own').value !== own) $('#seen-own').value = own;
    press($('#urgent'), urgent);
    $('#seen-vet').hidden = !urgent;
    $('#seen-vet').textContent = urgent ? '▲ Tell the veterinarian now.' : '';
    $('#photo-ask').hidden = Boolean(photo);
    $('#photo-has').hidden = !photo;
    this.#drawPhoto(photo);
  }

  #drawPhoto(photo) {
    if (this.#shown === photo) return;
    this.#shown = photo;
    const canvas = $('#photo-seen');
    canvas.getContext('2d').clearRect(0, 0, canvas.width, canvas.height);
    if (photo) showPhoto(photo, canvas);
  }

  #wordButton(word, words) {
    const b = button({ 'data-word': word, 'aria-pressed': String(words.includes(word)) }, hyphened[word] ?? word);
    b.addEventListener('click', () => {
      const has = this.#half.words;
      this.#set({ words: has.includes(word) ? has.filter((w) => w !== word) : [...has, word] });
    });
    return b;
  }

  /** What is said of the region at hand; '' while nothing is. */
  #word() {
    const { words, own } = this.#half;
    return [...words, own.trim()].filter(Boolean).join(', ');
  }

  async #photo(input) {
    const [file] = input.files;
    input.value = '';
    if (!file || this.#busy) return;
    this.#busy = true;
    this.#say('Making the photo small …');
    this.#drawGo();
    try {
      const { id } = this.#deck.animal;
      const { region } = this.#half;
      const photo = await takePhoto(file);
      const still = this.#deck.animal?.id === id && this.#half.region === region;
      if (still) this.#change({ photo });
      else await dropPhotos([photo]);
      this.#say('');
    } catch (err) {
      this.#say(`No photo: ${err.message}`);
    } finally {
      this.#busy = false;
      if (this.#deck.animal && this.#deck.draft.tab === 'check') this.draw();
    }
  }

  #say(text) { $('#photo-say').textContent = text; }

  async #dropPhoto() {
    const { photo, region } = this.#half;
    this.#set({ photo: '' });
    if (photo !== this.#noted(region)?.photo) await dropPhotos([photo]); // going back would want it
  }

  /** Back to the regions; a finding that was noted before stays as it was. */
  async #leave() {
    const { region, photo } = this.#half;
    this.#toLook();
    if (photo && photo !== this.#noted(region)?.photo) await dropPhotos([photo]);
  }

  #toLook() {
    this.#say('');
    this.#set({ region: '', words: [], own: '', urgent: false, photo: '' });
    $('#check-go').focus({ preventScroll: true });
  }

  async #add() {
    const word = this.#word();
    const { region, words, own, urgent, photo, findings } = this.#half;
    const before = this.#noted(region)?.photo;
    this.#change({ findings: [...findings.filter((f) => f.region !== region), { region, word, words, own, urgent, photo }] });
    this.#toLook();
    if (before && before !== photo) await dropPhotos([before]);
  }

  #drawGo() {
    const { region, findings } = this.#half;
    const go = $('#check-go');
    const last = lastCheck(this.#deck, this.#deck.animal);
    const open = openFindings(this.#deck, this.#deck.animal).length;
    const since = last ? `last ${this.#since(Date.parse(last.time))}, ${last.by}` : 'no check on record';
    go.disabled = Boolean(region) && (this.#busy || !this.#word());
    if (region) return go.replaceChildren('Add', el('small', {}, this.#word() ? 'to this check' : 'say what you see'));
    if (findings.length > 0) return go.replaceChildren('Save check', el('small', {}, findings.length === 1 ? '1 finding' : `${findings.length} findings`));
    return go.replaceChildren('All fine', el('small', {}, open > 0 ? `${open} ${open === 1 ? 'stays' : 'stay'} open` : since));
  }

  /** Saves the check; photos go with the findings that name them. */
  #save() {
    const { animal } = this.#deck;
    const half = this.#half;
    const data = { animal: animal.id };
    if (half.findings.length > 0) data.findings = half.findings.map(({ region, word, urgent }) => stated({ region, word, urgent }));
    const photos = half.findings.map((f, at) => ({ at, id: f.photo })).filter((p) => p.id);
    const { [animal.id]: gone, ...checks } = this.#deck.draft.checks;
    this.#deck.change({ checks });
    return this.#deck.save(wire.check, data, checkWords(data), [animal.id], { photos });
  }

  #ask(f) {
    this.#closing = f;
    $('#close-what').textContent = `${large(f.region)}: ${f.word}, since ${this.#since(Date.parse(f.since))}`;
    $('#close-text').value = '';
    $('#close-finding').showModal();
  }

  #close(outcome) {
    const { check, region, word } = this.#closing;
    const { animal } = this.#deck;
    $('#close-finding').close();
    const data = stated({ animal: animal.id, check, region, outcome, text: $('#close-text').value.trim() });
    return this.#deck.save(wire.closed, data, `Closed, ${region} ${word}: ${outcomes[outcome]}`);
  }
}
