// The Deck: log it in seconds, with or without a line to the server.
//
// Hooks that tests and other code may hold on to:
//   #facility                     select of the facility, on the Pick pad (#change opens it)
//   [data-animal=ID]              button that picks an animal, on the Pick pad
//   [data-tab=feed|weigh|coat|yield|trial|check|dose]   the seven tabs; #deck[data-tab] says which is open
//   [data-tab=watch], [data-tab=scan]        buttons on the Pick pad; #running, with #running-clock, opens the watch that runs
//   [data-food=ID]                food of the next feed
//   [data-kg="0.5"]               feeds that much; [data-kg=other] asks for the amount
//   [data-part=refused|left|rest] refused and left ask for amounts in #amount; rest is what is left of the ration
//   #amount [data-key], #amount-ok           keys and answer of an amount
//   #keys [data-key=0…9|.|x]      keys of a weight (x rubs out); #wet, #save-weight, #kg-say
//   [data-region], [data-stage=0…5]          coat
//   [data-other=ID]               encounter: whom the animal of the page met; #not-these goes back to choosing
//   [data-signal], [data-place]   what was done, and where
//   #more-open, [data-intensity], [data-cause], #injury, [data-vet]            more about it
//   [data-yielded=self|other|unanswered|neither|unclear]                       saves it;
//                                 self is the animal of the page, or the first picked in a watch
//   [data-enclosure=ID]           enclosure to watch or scan; '' goes back to choosing
//   [data-view=ID], [data-method=all_occurrences|focal|ad_libitum], #watch-go  a watch before it starts
//   #watch-clock, [data-met=ID], [data-count=SIGNAL], [data-less=SIGNAL]       while it runs
//   #watch-stop, #watch-drop, #watch-drop-yes, #watch-drop-no                  its end
//   #ended: #ended-touch, #ended-now, #ended-at, #ended-ok                     the real end of one over 4 h
//   [data-scan=ID], [data-group=N], #next-group, #rest-alone, #rest-away       a scan
//   #same-groups, #scan-save, #rule-open, #rule: #rule-text, #rule-ok
//   [data-tab=check]: [data-look=REGION], #check-go adds a finding or saves; All fine where there is none
//   [data-word], #seen-own, #urgent, #photo-take, #photo-choose, #photo-drop, #check-back     a finding
//   [data-unfind=REGION], [data-close-finding="CHECK REGION"], #close-finding: [data-outcome-of=OUTCOME], #close-text
//   [data-tab=dose]: [data-taken=all|part|none][data-order=ID], #no-order; #check-open, #dose-due on the tabs
//   [data-tab=water]              button on the Pick pad; #water-where [data-enclosure=ID], [data-what=QUANTITY], #more-quantities
//   #water-keys [data-key], #water-minus, #bound-below, #bound-above, #water-unit, #water-back   a value
//   #water-go adds a reading or saves the test; [data-unread=QUANTITY], #sample-open, #sample: #sample-id, [data-repeat=ID], #sample-ok
//   #fix-more: [data-fix-word=REGION], [data-fix-taken], [data-fix-outcome], [data-fix-value=QUANTITY]
//   #behaviour, #step-up, #step-down, [data-outcome=met|missed|no_try|swam_off]   trial
//   #log li[data-entry=ID][data-state], [data-undo=ID], [data-fix=ID]; #deck[data-held] while something can be undone
//   #fix: [data-reason], #fix-kg, #fix-stage, [data-moved=ID|neither], #fix-save, #fix-out
//   #queue[data-waiting][data-needs]         the chip: entries without a receipt, entries that need a person
//   #queue-list li[data-entry=ID][data-state=waiting|sending|recorded|needs-you|aside]
//   [data-again=ID], [data-aside=ID], [data-bare=ID] without its photo, #send-now, #to-file, #from-file
//   #sun, #hand, #gloves, #lock, #unlock-1, #unlock-2, #when, [data-ago]
//   #news [data-load]             button of a new version; #deck[data-ready] once the page works

import { $, $$, button, closable, el, fill, ignoreDrips, say, tape } from './dom.js';
import { Log, QueueSheet, age, saveAs } from './log.js';
import { askToPersist, startPhone, startWorker } from './phone.js';
import { keepDraft, kept, keptDraft } from './db.js';
import { kilos, local, uuid7, wire } from './fact.js';
import { CheckPad, draftedPhotos } from './check.js';
import { CoatPad } from './coat.js';
import { DosePad } from './dose.js';
import { Encounter, YieldPad } from './encounter.js';
import { FeedPad } from './feed.js';
import { Fix } from './fix.js';
import { Queue } from './queue.js';
import { ScanPad, usualRule } from './scan.js';
import { Sheet, clock } from './sheet.js';
import { TrialPad } from './trial.js';
import { Watch } from './watch.js';
import { WatchPad } from './watchpad.js';
import { WaterPad, pool } from './water.js';
import { WeighPad } from './weigh.js';
import { chosen } from './enclosure.js';
import { openFindings, ordersNow } from './care.js';

const skewShown = 2 * 60_000;
const every = 30_000;
const rowHeight = 56; // px of one row of the log
const ofGroup = new Set(['watch', 'scan', 'water']); // pads about an enclosure and not about one animal
const emptyCompany = { enclosure: '', view: null, pair: [], groups: [[]], group: 0, away: [], lastScan: null };
const emptyCard = { other: '', signal: '', intensity: '', cause: '', injury: false, kg: '', regions: [], behaviour: '' }; // half said of one animal
const halfMade = { checks: {}, tests: {} }; // by animal and by enclosure: looking at another loses nothing
const emptyDraft = { animal: '', tab: 'pick', last: 'feed', food: '', wet: false, place: 'deck', steps: {}, time: '', method: 'all_occurrences', rule: usualRule, pool: '', ...halfMade, ...emptyCard, ...emptyCompany };

class Deck {
  sheet = new Sheet();
  queue = new Queue(this.sheet);
  watch = new Watch(this.queue);
  draft = { ...emptyDraft };
  #pads;
  #log;
  #queueSheet;
  #storage = '';

  get animal() { return this.sheet.animal(this.draft.animal); }

  /** Grams eaten today by food, this phone's entries among them. */
  eaten = () => this.sheet.eaten(this.animal, this.queue.list());

  async start() {
    ignoreDrips();
    await startPhone();
    this.draft = { ...emptyDraft, ...keptDraft() };
    await this.sheet.start((await kept('facility')) ?? '');
    await this.queue.start();
    await this.watch.load();
    const encounter = new Encounter(this);
    this.#pads = {
      feed: new FeedPad(this), weigh: new WeighPad(this), coat: new CoatPad(this), yield: new YieldPad(this, encounter), trial: new TrialPad(this),
      check: new CheckPad(this), dose: new DosePad(this), watch: new WatchPad(this, encounter), scan: new ScanPad(this), water: new WaterPad(this),
    };
    this.#log = new Log(this, new Fix(this));
    this.#queueSheet = new QueueSheet(this);
    this.#listen();
    this.#fromAddress();
    if (this.animal) this.open(this.draft.tab);
    else this.draw(); // the tab that is asked for opens when its animal comes
    $('#deck').dataset.ready = '';
    askToPersist().then((text) => { this.#storage = text; this.#drawNews(); }); // before the animals come, which its answer moves
    await this.look();
    startWorker();
    await this.queue.sweepPhotos(draftedPhotos(this.draft));
  }

  /** /deck#ID opens an animal's card, #ID/check a tab of it, #water/ID the water of an enclosure. */
  #fromAddress() {
    const [id, more = ''] = location.hash.slice(1).split('/').map(decodeURIComponent);
    if (!id) return;
    const tab = $(`.verbs [data-tab="${CSS.escape(more)}"]`) ? more : this.draft.last;
    if (id === 'water') this.change({ tab: 'water', ...(more ? { pool: more } : {}) });
    else this.change({ animal: id, tab, ...(id === this.draft.animal ? {} : emptyCard) });
    history.replaceState(null, '', '/deck');
  }

  #listen() {
    for (const dialog of $$('#queue-sheet, #time')) closable(dialog);
    for (const b of $$('[data-tab]')) if (b.id !== 'deck') b.addEventListener('click', () => this.open(b.dataset.tab));
    $('.verbs').addEventListener('keydown', (e) => this.#arrow(e));
    $('#change').addEventListener('click', () => this.open(this.draft.tab === 'pick' ? this.draft.last : 'pick'));
    $('#facility').addEventListener('change', (e) => this.#choose(e.target.value));
    this.#listenTime();
    this.queue.addEventListener('change', () => { this.#drawEntries(); this.#drawNews(); });
    this.watch.addEventListener('change', () => this.draw());
    this.sheet.addEventListener('change', () => this.draw());
    for (const name of ['online', 'focus']) addEventListener(name, () => this.look());
    document.addEventListener('visibilitychange', () => { if (!document.hidden) this.look(); });
    setInterval(() => this.queue.send(), every);
    setInterval(() => { if (!document.hidden) this.sheet.refresh(); }, 2 * every);
    setInterval(() => this.#tick(), 1000);
  }

  #arrow(e) {
    const step = { ArrowLeft: -1, ArrowRight: 1 }[e.key];
    if (!step) return;
    const tabs = $$('[role=tab]');
    const next = tabs[(tabs.indexOf(document.activeElement) + step + tabs.length) % tabs.length];
    next.focus();
    next.click();
  }

  /** Asks the server what is new, and sends what waits. */
  async look() {
    this.sheet.fresh = false;
    await this.sheet.refresh();
    await this.queue.send();
  }

  async #choose(facility) {
    this.change({ animal: '', tab: 'pick', food: '', pool: '', ...emptyCard, ...emptyCompany });
    await this.sheet.choose(facility);
  }

  /** Changes the draft, which outlives a closed page. */
  change(some) {
    Object.assign(this.draft, some);
    keepDraft(this.draft);
  }

  open(tab) {
    const shown = this.animal || ofGroup.has(tab) ? tab : 'pick';
    this.change(ofGroup.has(shown) ? { tab: shown, time: '' } : shown === 'pick' ? { tab: shown } : { tab: shown, last: shown });
    this.draw();
  }

  #pick(id) {
    this.change({ animal: id, ...emptyCard });
    this.open('feed');
  }

  /** Saves a fact about the animal of the page. */
  async save(type, data, text, animals = [this.animal.id], { facility = this.sheet.facility.code, at = this.#time(), id = uuid7(), photos } = {}) {
    const fact = { id, type, time: at.toISOString(), facility, data };
    try {
      await this.queue.save(fact, { by: this.sheet.visitor.name, animals, text, photos });
    } catch (err) {
      this.#notSaved({ id, fact, by: this.sheet.visitor.name, animals, text, photos }, err);
      return;
    }
    this.change({ time: '' });
    say(`${[this.sheet.animal(animals[0])?.name, text].filter(Boolean).join(', ')}. Saved on this phone`);
    this.draw();
    if (ofGroup.has(this.draft.tab) || this.draft.tab === 'dose') $('#log').scrollIntoView({ block: 'nearest' });
    if (['weigh', 'coat', 'yield', 'check'].includes(this.draft.tab) && $('#log').clientHeight < rowHeight) this.open('feed'); // where Undo is in sight
  }

  /** Out of space or worse: the entry stays on screen and can go to a file. */
  #notSaved(entry, err) {
    const file = button({ class: 'btn' }, 'Save it as a file');
    file.addEventListener('click', async () => saveAs(await this.queue.fileOf([entry]), `haulout-entry-${entry.id}.json`));
    $('#news').append(el('p', { class: 'odd', role: 'alert' }, `Not saved: ${entry.text}. The phone says: ${err.message}. `, file));
  }

  alarm(text) { $('#news').append(el('p', { class: 'odd', role: 'alert' }, text)); }

  /** The enclosure of an encounter, where both live in one, and the watch that it falls into. */
  metIn(two, facility) {
    const { running } = this.watch;
    if (this.watch.sees(two.map((a) => a.id), facility, this.#time())) return { enclosure: running.enclosure, watch: running.watch };
    const [one, other] = two.map((a) => this.sheet.animal(a.id)?.enclosure);
    return { enclosure: one === other && one };
  }

  async undo(id) {
    const gone = await this.queue.undo(id);
    say(gone ? 'Taken back' : 'Too late to take back; use Fix');
  }

  /** The phone's time, or the server's where the phone's is more than 2 min off. */
  now() { return new Date(Date.now() + (Math.abs(this.sheet.offset) > skewShown ? this.sheet.offset : 0)); }

  #time() { return this.draft.time ? new Date(this.draft.time) : this.now(); }

  #listenTime() {
    const dialog = $('#time');
    $('#when').addEventListener('click', () => { $('#time-say').textContent = ''; $('#time-at').value = local(this.#time()); dialog.showModal(); });
    for (const b of $$('[data-ago]')) b.addEventListener('click', () => this.#at(b.dataset.ago === '0' ? '' : new Date(this.now() - b.dataset.ago * 60_000).toISOString()));
    $('#time-ok').addEventListener('click', () => {
      const at = new Date($('#time-at').value);
      if (Number.isNaN(at.getTime())) { $('#time-say').textContent = 'Write a day and a time.'; return; }
      if (at > this.now()) { $('#time-say').textContent = 'That is still to come. Log it when it has happened.'; return; }
      this.#at(at.toISOString());
    });
  }

  #at(time) {
    this.change({ time });
    $('#time').close();
    this.draw();
  }

  draw() {
    const { tab } = this.draft;
    const shown = this.animal || ofGroup.has(tab) ? tab : 'pick';
    const first = $(`.verbs [data-tab=${shown}]`) ? shown : 'feed';
    $('#deck').dataset.tab = shown;
    for (const p of $$('.pad')) p.hidden = p.dataset.pad !== shown;
    for (const b of $$('[role=tab]')) {
      b.setAttribute('aria-selected', String(b.dataset.tab === shown));
      b.tabIndex = b.dataset.tab === first ? 0 : -1;
      b.disabled = !this.animal;
    }
    this.#drawWho(shown);
    if (shown === 'pick') this.#drawPick();
    else this.#pads[shown].draw();
    this.#pads.watch.tick();
    this.#drawEntries();
    this.#drawNews();
  }

  #drawWho(shown) {
    if (ofGroup.has(shown)) return this.#drawWhat(shown);
    const { animal } = this;
    this.#head(animal?.name ?? 'Deck', animal?.tape, animal && shown !== 'pick' ? animal.pool : '', animal && (shown === 'pick' ? 'Back' : 'Change'));
    $('#change').setAttribute('aria-expanded', String(shown === 'pick'));
    this.#drawWhen(Boolean(animal) && shown !== 'pick');
    return undefined;
  }

  #drawWhen(shown) {
    $('#when').hidden = !shown;
    $('#when-is').textContent = this.draft.time ? clock(Date.parse(this.draft.time), this.sheet.zone) : 'now';
  }

  /** The head of a pad that is about an enclosure. */
  #drawWhat(shown) {
    const where = shown === 'water' ? pool(this)?.name : (shown === 'watch' && this.watch.running?.pool) || chosen(this)?.name;
    this.#head({ watch: 'Watch', scan: 'Scan', water: 'Water' }[shown], 0, where, 'Back');
    $('#change').setAttribute('aria-expanded', 'false');
    this.#drawWhen(shown === 'water');
  }

  #head(name, tapeNumber, place, way) {
    const { sheet } = this;
    $('#name').textContent = name;
    $('#tape').setAttribute('href', tapeNumber ? `#t${tapeNumber}` : '#none');
    $('.dwho .tape').toggleAttribute('hidden', !tapeNumber);
    $('#where').textContent = place ? [place, sheet.visitor.name].filter(Boolean).join(', ') : sheet.facility.name;
    $('#change').hidden = !way;
    $('#change').textContent = way ?? '';
    document.title = `${name} · haulout`;
  }

  #drawPick() {
    const { sheet } = this;
    fill($('#facility'), sheet.data.facilities.map((f) => el('option', { value: f.code, selected: f.code === sheet.facility.code }, f.name)));
    fill($('#animals'), sheet.data.animals.map((a) => this.#animalButton(a)));
    $('#nobody').hidden = sheet.data.animals.length > 0;
  }

  #animalButton(a) {
    const ration = a.ration.reduce((sum, r) => sum + r.grams, 0);
    const ate = Object.values(this.sheet.eaten(a, this.queue.list())).reduce((sum, g) => sum + g, 0);
    const left = ration === 0 ? 'no ration set' : ration - ate < 50 ? 'all of it' : `${((ration - ate) / 1000).toFixed(1)} kg left`;
    const b = button({ class: 'animal', 'data-animal': a.id, 'aria-pressed': String(a.id === this.draft.animal) }, tape(a.tape), el('span', {}, a.name, el('small', {}, left)));
    b.addEventListener('click', () => this.#pick(a.id));
    return b;
  }

  /** What changes with the queue: chip, list, log and ration. */
  #drawEntries() {
    this.#queueSheet.drawChip();
    if ($('#queue-sheet').open) this.#queueSheet.draw();
    const { tab } = this.draft;
    const about = this.#about();
    this.#drawDue();
    $('#ration').hidden = !this.animal || tab === 'pick';
    if (!about) return fill($('#log'), []);
    this.#log.draw(about);
    if (!$('#ration').hidden) this.#drawRation();
    if (['feed', 'trial', 'watch', 'check', 'dose'].includes(tab)) this.#pads[tab].draw();
    return undefined;
  }

  /** What stands open, on the tabs that lead to it. */
  #drawDue() {
    const open = this.animal ? openFindings(this, this.animal).length : 0;
    const due = this.animal ? ordersNow(this, this.animal).reduce((n, o) => n + Math.max(0, o.of - o.given), 0) : 0;
    $('#check-open').textContent = open > 0 ? `${open} open` : '';
    $('#dose-due').textContent = due > 0 ? `${due} due` : '';
  }

  /** What the log lists: this phone's entries, the server's, and the animals they are about. */
  #about() {
    const { animal, sheet, draft } = this;
    if (draft.tab === 'water') return this.#aboutWater();
    if (ofGroup.has(draft.tab)) return this.#aboutCompany();
    if (!animal || draft.tab === 'pick') return null;
    return { own: (e) => e.animals.includes(animal.id), recent: animal.recent, animals: [animal.id], facility: sheet.facility.code };
  }

  #aboutWater() {
    const { code } = this.sheet.facility;
    const here = pool(this);
    return { own: (e) => e.fact.type === wire.water && e.fact.facility === code && e.fact.data.enclosure === here?.id, recent: here?.recent ?? [], animals: [], facility: code };
  }

  /** Watches, scans and encounters of the enclosure. */
  #aboutCompany() {
    const { running } = this.watch;
    const { facility, enclosure } = (this.draft.tab === 'watch' && running) || { facility: this.sheet.facility.code, enclosure: chosen(this)?.id };
    const recent = facility === this.sheet.facility.code && this.sheet.data.enclosures?.find((e) => e.id === enclosure)?.recent;
    const kinds = [wire.encounter, wire.watch, wire.scan];
    return { own: (e) => kinds.includes(e.fact.type) && e.fact.facility === facility && e.fact.data.enclosure === enclosure, recent: recent || [], animals: [], facility };
  }

  #drawRation() {
    const ration = this.animal.ration.reduce((sum, r) => sum + r.grams, 0);
    const ate = Object.values(this.eaten()).reduce((sum, g) => sum + g, 0);
    $('#ration').hidden = false;
    $('#ration-bar').setAttribute('d', `M1 1h${ration > 0 ? Math.min(364, (364 * ate) / ration).toFixed(0) : 0}v14H1z`);
    const of = ration > 0 ? ` left of ${(ration / 1000).toFixed(1)} kg` : 'no ration set';
    $('#ate').replaceChildren(el('b', {}, `${(ate / 1000).toFixed(1)} kg`), ' eaten');
    $('#left').replaceChildren(...(ration > 0 ? [el('b', {}, `${(Math.max(0, ration - ate) / 1000).toFixed(1)} kg`), of] : [of]));
    $('#ration-d').textContent = `${kilos(ate)} of ${kilos(ration)} kilograms eaten`;
  }

  /** Lines that a keeper must see, above the animal. */
  #drawNews() {
    const { sheet } = this;
    const lines = sheet.data.notices.map((text) => el('p', { class: 'strip' }, text));
    if (this.#storage) lines.push(el('p', { class: 'once' }, this.#storage));
    if ([sheet.trouble, this.queue.trouble].includes('sign-in')) lines.unshift(el('p', { class: 'odd' }, 'Signed out. Entries are kept here. ', el('a', { class: 'btn', href: '/sign-in?to=/deck' }, 'Sign in to send')));
    if (sheet.fresh && !sheet.visitor.records) lines.unshift(el('p', { class: 'odd' }, 'You may look but not record. Ask the steward.'));
    if (Math.abs(sheet.offset) > skewShown) lines.unshift(el('p', { class: 'odd' }, `This phone’s clock is ${age(Math.abs(sheet.offset))} ${sheet.offset < 0 ? 'ahead of' : 'behind'} the server’s. Entries get the server’s time.`));
    if (sheet.data.build && sheet.data.build !== document.documentElement.dataset.build && sheet.fresh) lines.unshift(this.#update());
    fill($('#news-lines'), lines);
  }

  #update() {
    const load = button({ class: 'btn', 'data-load': '' }, 'Load it');
    load.addEventListener('click', () => location.reload());
    return el('p', {}, 'A new version is ready. ', load);
  }

  /** Counts the seconds of Undo down and the age of the queue up. */
  #tick() {
    this.#pads.watch.tick();
    if ($('#deck').hasAttribute('data-held')) this.#countdown();
    if (new Date().getSeconds() % 15 === 0) this.#queueSheet.drawChip();
  }

  #countdown() {
    for (const b of $$('[data-undo]', $('#log'))) {
      const e = this.queue.entries.get(b.dataset.undo);
      const left = e ? Math.ceil((e.hold - Date.now()) / 1000) : 0;
      if (left <= 0) return this.#drawEntries();
      b.textContent = `Undo ${left}`;
    }
    return undefined;
  }
}

new Deck().start();
