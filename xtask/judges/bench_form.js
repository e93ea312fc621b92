// A day at the bench in a real browser, on a form opened from disk: worked through, reloaded, killed, doubled, refused.
// usage: NODE_PATH=<node_modules> node bench_form.js FORM.html OUT_DIR [only,these,parts]
// needs Debian chromium and: npm install playwright-core axe-core
// Each part prints one line; a check that does not hold ends with exit code 1. Saved forms and pictures go to OUT_DIR.
const fs = require('fs'), os = require('os'), path = require('path'), { spawn } = require('child_process');
const assert = require('assert');
const { chromium } = require('playwright-core');
const form = 'file://' + path.resolve(process.argv[2]);
const out = path.resolve(process.argv[3]);
const only = process.argv[4] ? process.argv[4].split(',') : null;
const executablePath = process.env.CHROMIUM || '/usr/bin/chromium';
const args = ['--no-sandbox'];
const BOUNCE = 950; // the page takes two touches of "done" closer than 0.9 s for one
fs.mkdirSync(out, { recursive: true });
const key = (k) => `[data-key="${k}"]`;
const entries = (page) => page.evaluate(() => window.bench.journal.store.entries());
const stand = (page) => page.textContent('#head .stand');
const doneCount = (text) => Number(/^(\d+) of/.exec(text)[1]);

async function open(context) {
  const page = await context.newPage();
  page.errors = [];
  page.on('pageerror', (e) => page.errors.push(String(e)));
  page.on('request', (r) => { if (!/^(file|data|blob):/.test(r.url())) page.errors.push('asked the network: ' + r.url()); });
  await page.goto(form);
  await page.waitForSelector('#head .stored');
  return page;
}
// What a person sees: not the script, which holds every sentence there is.
const SHOWN = "header, #alarms, main, dialog";
async function painted(page, words) { await page.waitForFunction(([w, shown]) => [...document.querySelectorAll(shown)].some((x) => x.textContent.includes(w)), [words, SHOWN]); }
// Counts one discharge and waits until its own button says so: a number in brackets may stand elsewhere too.
async function counted(page, n) {
  await page.click(key('shot'));
  await page.waitForFunction(([button, words]) => document.querySelector(button)?.textContent.includes(words), [key('shot'), `(${n})`]);
}
async function gone(page, words) { await page.waitForFunction(([w, shown]) => ![...document.querySelectorAll(shown)].some((x) => x.textContent.includes(w)), [words, SHOWN]); }
async function doneOnce(page, act) {
  const before = doneCount(await stand(page));
  await act();
  await page.waitForFunction((n) => Number(/^(\d+) of/.exec(document.querySelector('#head .stand').textContent)?.[1]) > n, before);
  await page.waitForTimeout(BOUNCE);
}
async function before(page) {
  await page.click(key('person-I. Marsh'));
  for (const [k, v] of [['temperature_c', '21,4'], ['humidity_percent', '42'], ['pressure_hpa', '1007']]) await page.fill(key(`before-${k}`), v);
  await page.click('section[aria-labelledby="part-room"] button[type=submit]');
  await painted(page, '21.4 °C');
  await page.click(key('g-as'));
  const day = await page.evaluate(() => window.bench.now().slice(0, 10));
  await page.fill(key(`check/${day}/bleeder-horizontal`), '941');
  await page.press(key(`check/${day}/bleeder-horizontal`), 'Enter');
  await painted(page, '941 kohm');
  await page.click(key(`check/${day}/spark-before-true`));
  await painted(page, 'insulating part: in order');
  await page.click(key('to-shots'));
}
async function save(page, name) {
  await page.click(key('nav-after'));
  const [download] = await Promise.all([page.waitForEvent('download'), page.click(key('save'))]);
  await download.saveAs(path.join(out, name));
  return JSON.parse(fs.readFileSync(path.join(out, name), 'utf8'));
}

const parts = {
  // The plan worked through as a person would, with two events, a skip, a choice, and a reload in the middle of a series.
  async day(browser) {
    const context = await browser.newContext({ viewport: { width: 800, height: 1280 }, acceptDownloads: true });
    let page = await open(context);
    await before(page);
    let all = 1e9, touches = 0, series = 0;
    while (true) {
      const text = await stand(page);
      all = Number(/of (\d+)/.exec(text)[1]);
      if (doneCount(text) >= all) break;
      if (series === 2) {
        await counted(page, 1);
        await counted(page, 2);
        await page.reload();
        await page.waitForSelector(key('shot'));
        assert.match(await page.textContent(key('shot')), /\(2\)/, 'counted discharges survive a reload');
        for (let i = 3; i <= 10; i += 1) { await counted(page, i); }
      }
      if (series === 4) {
        const before = (await entries(page)).length;
        await page.click(key('happened'));
        await page.waitForSelector('#event-title');
        assert.equal((await entries(page)).length, before + 1, 'one touch captures an event');
        for (const answer of ['affected-item', 'coincident-true', 'function-service-port', 'state_changed-false', 'data_lost-false', 'restored-by-itself', 'before_next-true']) {
          await page.click(key(answer));
          await page.waitForSelector(`${key(answer)}[aria-pressed=true]`);
        }
        await page.fill(key('seen'), 'service connection dropped and came back');
        await page.press(key('seen'), 'Enter');
        await painted(page, 'Every fact that a verdict may need is stated');
        await page.click(key('back'));
        await page.waitForSelector(key('back'), { state: 'detached' });
        await page.click(key('later'));
      }
      if (series === 6) {
        await page.click(key('skip'));
        await page.click('dialog button:has-text("point not reachable")');
        await painted(page, '1 skipped');
        await page.click(key('nav-table'));
        await page.click(key('first-7'));
        await page.click('dialog button:has-text("to look at an effect again")');
        await page.waitForSelector(key('done'));
      }
      touches += 1;
      await doneOnce(page, () => page.click(key('done')));
      series += 1;
    }
    assert.equal(touches, all, 'one touch for each clean series');
    await page.click(key('nav-after'));
    await page.fill(key('note'), 'compressor next door from the third series on');
    await page.press(key('note'), 'Enter');
    await painted(page, '✓ compressor');
    await page.fill(key('sign'), 'I. Marsh');
    await page.press(key('sign'), 'Enter');
    await painted(page, 'Written down by I. Marsh');
    const wanting = await page.$$eval('.wanting li', (l) => l.map((x) => x.textContent));
    const file = await save(page, 'day.form.json');
    // What was painted as taken, row by row of the table, against what is in the file.
    await page.click(key('nav-table'));
    const rows = await page.$$eval('table.series tbody tr', (r) => r.map((x) => [x.cells[0].textContent, x.cells[4].textContent]));
    fs.writeFileSync(path.join(out, 'day.painted.json'), JSON.stringify({ rows, wanting }));
    for (const [id, words] of rows) assert.ok(file.journal.some((e) => e.kind === 'done' && e.series === id) && words.startsWith('✓ 10'), `${id} ${words}`);
    assert.deepEqual(page.errors, []);
    // Only the machine is too quick: nobody can hold ten discharges a second apart in one.
    assert.ok(wanting.every((w) => /take \d+ s/.test(w) || /calibration/.test(w)), wanting.join('; '));
    await context.close();
    return `${all} series, ${touches} touches of "done", ${file.journal.length} entries`;
  },

  // The browser killed at random moments (BENCH_KILLS of them): whatever was painted as taken is there, and the break is written down.
  async killed() {
    const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'bench-'));
    let worst = 0, last = 0;
    const rounds = Number(process.env.BENCH_KILLS || 3);
    for (let round = 0; round < rounds; round += 1) {
      const child = spawn(executablePath, ['--headless=new', ...args, '--remote-debugging-port=0', `--user-data-dir=${folder}`, 'about:blank'], { detached: true, stdio: ['ignore', 'ignore', 'pipe'] });
      const address = await new Promise((resolve, reject) => {
        let text = '';
        child.stderr.on('data', (d) => { text += d; const m = /DevTools listening on (ws:\S+)/.exec(text); if (m) resolve(m[1]); });
        child.on('exit', () => reject(new Error('the browser ended: ' + text)));
      });
      const browser = await chromium.connectOverCDP(address);
      const context = browser.contexts()[0];
      const page = await context.newPage();
      let paintedDone = 0;
      await page.exposeFunction('told', (n) => { paintedDone = Math.max(paintedDone, n); });
      await page.goto(form);
      await page.waitForSelector('#head .stored.good');
      const kept = await entries(page);
      const held = kept.filter((e) => e.kind === 'done').length;
      assert.ok(held >= last, `round ${round}: ${last} painted as taken, ${held} found`);
      assert.ok(kept.every((e, i) => e.n === i + 1), 'no gap in the journal');
      if (round) assert.equal(kept.filter((e) => e.kind === 'opened' && e.why === 'after-interruption').length, round, 'each break is written down');
      worst = Math.max(worst, held - last);
      await page.evaluate(() => {
        const tell = () => window.told(Number(/^(\d+) of/.exec(document.querySelector('#head .stand')?.textContent)?.[1] || 0));
        new MutationObserver(tell).observe(document.getElementById('head'), { childList: true, subtree: true, characterData: true });
        tell();
      });
      await page.click(key('nav-shots')).catch(() => {});
      let going = true;
      const work = (async () => { while (going) { await page.click(key('done'), { timeout: 3000 }).catch(() => {}); await page.waitForTimeout(BOUNCE).catch(() => {}); } })();
      await new Promise((r) => setTimeout(r, 300 + Math.random() * 2700));
      process.kill(-child.pid, 'SIGKILL');
      going = false;
      await work;
      last = Math.max(last, paintedDone);
      await new Promise((r) => setTimeout(r, 200));
    }
    fs.rmSync(folder, { recursive: true, force: true });
    return `${rounds} kills, ${last} series painted as taken, none lost; at most ${worst} stored and not yet painted`;
  },

  // Two windows of one form: one counts, the other watches, and counting can be taken over.
  async two(browser) {
    const context = await browser.newContext({ acceptDownloads: true });
    const one = await open(context), two = await open(context);
    await painted(two, 'another window');
    assert.equal(await one.textContent('#head .stored'), 'stored on this device');
    await two.click(key('nav-shots'));
    assert.ok(await two.isDisabled(key('done')), 'the second window does not count');
    await one.click(key('nav-shots'));
    await doneOnce(one, () => one.click(key('done')));
    await two.click(key('take-over'));
    await two.waitForSelector('#head .stored.good');
    await one.waitForSelector('text=This form is open in another window');
    assert.equal(doneCount(await stand(two)), 1);
    assert.ok((await entries(two)).some((e) => e.taken_over));
    await context.close();
    return 'the second window watches, takes over when told, and that is written down';
  },

  // No storage: nothing is counted, and the page says what to do.
  async refused(browser) {
    const context = await browser.newContext();
    await context.addInitScript(() => { Object.defineProperty(window, 'indexedDB', { value: undefined }); });
    const page = await open(context);
    await painted(page, "can't keep the record");
    assert.equal(await page.$(key('done')), null);
    await context.close();
    return 'nothing is counted without storage';
  },

  // Full storage: a touch that could not be stored is not painted as taken, and the file can still be saved.
  async full(browser) {
    const context = await browser.newContext({ acceptDownloads: true });
    const page = await open(context);
    await page.click(key('nav-shots'));
    await doneOnce(page, () => page.click(key('done')));
    const cdp = await context.newCDPSession(page);
    await cdp.send('Storage.overrideQuotaForOrigin', { origin: 'file:///', quotaSize: 1 }).catch(() => {});
    await page.click(key('shot'));
    await page.waitForTimeout(500);
    let how = 'quota of the browser';
    if (!(await page.$('.alarm'))) {
      how = 'a store that throws QuotaExceededError';
      await page.evaluate(() => { IDBObjectStore.prototype.add = () => { throw new DOMException('full', 'QuotaExceededError'); }; });
      await page.click(key('done'));
    }
    await painted(page, 'NOT TAKEN DOWN');
    assert.equal(doneCount(await stand(page)), 1, 'not painted as taken');
    assert.ok(await page.isDisabled(key('done')));
    const [download] = await Promise.all([page.waitForEvent('download'), page.click(key('alarm-save'))]);
    await download.saveAs(path.join(out, 'full.form.json'));
    const file = JSON.parse(fs.readFileSync(path.join(out, 'full.form.json'), 'utf8'));
    assert.equal(file.journal.filter((e) => e.kind === 'done').length, 1);
    await context.close();
    return `not painted, not counted, saved all the same (${how})`;
  },

  // Keyboard and foot switch only.
  async keys(browser) {
    const context = await browser.newContext();
    const page = await open(context);
    const press = async (name, times = 60) => {
      for (let i = 0; i < times; i += 1) {
        await page.keyboard.press('Tab');
        if (await page.evaluate((k) => document.activeElement?.dataset?.key === k, name)) return page.keyboard.press('Enter');
      }
      throw new Error(`Tab does not reach ${name}`);
    };
    await press('person-I. Marsh');
    await painted(page, 'Tested by I. Marsh');
    await press('to-shots', 80);
    await page.waitForSelector(key('done'));
    await page.keyboard.press('ArrowRight');
    await painted(page, 'Count one (1)');
    await page.keyboard.press('Backspace');
    await page.waitForFunction(() => document.querySelector('[data-key=shot]').textContent === 'Count one');
    await doneOnce(page, () => page.keyboard.press('PageDown'));
    const at = await page.evaluate(() => window.bench.now());
    await page.keyboard.press('PageUp');
    await page.waitForSelector('#event-title');
    const event = (await entries(page)).find((e) => e.kind === 'happened');
    assert.ok(Math.abs(Date.parse(event.at) - Date.parse(at)) < 3000, 'the time is that of the key');
    // The foot alone gets back to the shots, and what it presses there counts nothing.
    await page.keyboard.press('PageDown');
    await page.waitForSelector(key('done'));
    await page.keyboard.press('PageDown');
    await page.waitForTimeout(BOUNCE);
    assert.equal((await entries(page)).filter((e) => e.kind === 'done').length, 1, 'a bounce on the way back is no done');
    // What was said of one series does not go over to the next.
    await press('unwatched');
    await page.waitForSelector('[data-key=unwatched][aria-pressed=true]');
    await press('skip');
    await page.waitForSelector('dialog');
    await page.keyboard.press('Enter');
    await page.waitForSelector('[data-key=unwatched][aria-pressed=false]');
    await page.keyboard.press('Insert');
    await page.waitForSelector('#out-title');
    await page.keyboard.press('Escape');
    await page.waitForSelector('#out-title', { state: 'detached' });
    await page.evaluate(() => { window.bench.pedal = 'F8'; });
    await doneOnce(page, () => page.keyboard.press('F8'));
    await page.keyboard.down('F8');
    await page.waitForSelector('#event-title');
    await page.keyboard.up('F8');
    assert.equal((await entries(page)).filter((e) => e.kind === 'done').length, 2);
    assert.deepEqual(page.errors, []);
    await context.close();
    return 'person, shots, count, take back, done, event and a pedal, short and long, without a pointer';
  },

  // Touch only; targets measured; axe; pictures.
  async look(browser) {
    const axe = fs.readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
    let violations = 0, views = 0, targets = 0, smallest = 1e9, most = 0;
    for (const [width, height] of [[800, 1280], [1280, 800]]) for (const colorScheme of ['light', 'dark']) {
      const context = await browser.newContext({ viewport: { width, height }, colorScheme, hasTouch: true });
      const page = await open(context);
      const look = async (name, fullPage = false) => {
        const room = colorScheme === 'light' ? 'bright' : 'dark';
        await page.screenshot({ path: path.join(out, `${name}-${width}x${height}-${room}.png`), fullPage });
        await page.evaluate(axe);
        const found = await page.evaluate(async () => (await window.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] })).violations.map((v) => `${v.id}: ${v.nodes[0].target.join(' ')}`));
        violations += found.length;
        views += 1;
        for (const words of found) console.log(`axe ${name} ${width}x${height} ${room}: ${words}`);
        // Whatever a finger may hit: 14 mm are 53 px at the reference pixel, 84 px on a ten-inch tablet of 800 x 1280.
        const sizes = await page.$$eval('button, .filebutton, input:not([type=file]), summary', (all) => all.filter((x) => x.offsetParent && x.type !== 'checkbox').map((x) => { const r = x.getBoundingClientRect(); return [Math.min(r.width, r.height), x.dataset.key || x.textContent]; }));
        targets += sizes.length;
        for (const [size, name] of sizes) { if (size < 84) console.log(`small target ${name}: ${size}`); smallest = Math.min(smallest, size); }
      };
      await look('before', true);
      await page.tap(key('person-I. Marsh'));
      await page.tap(key('to-shots'));
      await look('shots');
      const volts = await page.$eval('.volts', (x) => parseFloat(getComputedStyle(x).fontSize));
      most = Math.max(most, volts);
      // Common rule for signs: letters of 1/200 of the distance at least; 2 m ask for 10 mm, 38 px at the reference pixel.
      assert.ok(volts * 0.7 >= 76, `the voltage is ${volts} px`);
      const fits = await page.evaluate(() => document.querySelector('[data-key=done]').getBoundingClientRect().bottom <= innerHeight && document.documentElement.scrollWidth <= innerWidth);
      assert.ok(fits, 'what must be hit is on the screen without scrolling');
      await page.tap(key('done'));
      await painted(page, '1 of');
      await page.waitForTimeout(BOUNCE);
      await look('shots-2');
      await page.tap(key('happened'));
      await page.waitForSelector('#event-title');
      await look('event', true);
      await page.tap(key('affected-item'));
      await page.tap(key('later'));
      await page.tap(key('keys'));
      await look('keys');
      await page.tap('dialog .go');
      await page.tap(key('nav-table'));
      await look('table');
      await page.tap(key('nav-after'));
      await look('after', true);
      assert.deepEqual(page.errors, []);
      await context.close();
    }
    assert.equal(violations, 0, 'axe');
    assert.ok(smallest >= 84, `smallest target ${smallest} px`);
    return `axe: 0 violations over ${views} views; ${targets} targets, the smallest ${smallest} px; voltage ${most} px`;
  },

  // The same two series three times: at the bench, from paper in the table, from paper in a CSV table.
  async same(browser) {
    const facts = ['affected-item', 'coincident-true', 'function-display', 'state_changed-false', 'data_lost-false', 'restored-by-itself', 'before_next-true'];
    const tell = async (page, event) => {
      for (const answer of facts) {
        await page.click(key(answer));
        await page.waitForSelector(`${key(answer)}[aria-pressed=true]`);
      }
    };
    const context = await browser.newContext({ acceptDownloads: true });
    const page = await open(context);
    await page.click(key('person-I. Marsh'));
    await painted(page, 'Tested by I. Marsh');
    await page.click(key('nav-shots'));
    await doneOnce(page, () => page.click(key('done')));
    await page.click(key('happened'));
    await page.waitForSelector('#event-title');
    await tell(page);
    await page.fill(key('seen'), 'display dark');
    await page.press(key('seen'), 'Enter');
    await painted(page, 'Every fact that a verdict may need is stated');
    await page.click(key('later'));
    await doneOnce(page, () => page.click(key('done')));
    const direct = await save(page, 'direct.form.json');
    await context.close();
    const done = direct.journal.filter((e) => e.kind === 'done');
    const other = await browser.newContext({ acceptDownloads: true });
    const copy = await open(other);
    await copy.click(key('person-I. Marsh'));
    await painted(copy, 'Tested by I. Marsh');
    await copy.click(key('nav-table'));
    await copy.click('summary:has-text("paper")');
    const csv = fs.readFileSync(path.join(out, 'job.sheet-rows.csv'), 'utf8').trimEnd().split('\n').map((l) => l.split(','));
    const sheet = csv[1][0];
    await copy.fill(key('sheet-code'), sheet);
    await copy.fill(key('sheet-day'), done[0].at.slice(0, 10));
    await copy.fill(key('sheet-by'), 'I. Marsh');
    await copy.press(key('sheet-by'), 'Enter');
    for (const [index, entry] of done.entries()) {
      await copy.click(key(`copy-${entry.series}`));
      await copy.fill('#row-time', entry.at.slice(11, 16));
      if (index) await copy.fill('#row-seen', 'display dark');
      await copy.click('dialog button[type=submit]');
      await copy.waitForFunction((n) => document.querySelectorAll('tr.done').length === n, index + 1);
    }
    await copy.click('[data-key^="ev-"]');
    await tell(copy);
    await save(copy, 'copied.form.json');
    await other.close();
    const at = (name) => csv[0].indexOf(name);
    for (const [index, entry] of done.entries()) {
      const row = csv.find((r) => r[1] === entry.series);
      const put = (values) => { for (const [name, value] of Object.entries(values)) row[at(name)] = value; };
      put({ applied: '10', day: entry.at.slice(0, 10), time: entry.at.slice(11, 16), watched: 'yes', tested_by: 'I. Marsh', copied_by: 'I. Marsh', copied_at: entry.at.slice(0, 16) });
      if (!index) put({ nothing_seen: 'yes' });
      else put({ seen: 'display dark', affected: 'item', coincident: 'yes', function: 'display', state_changed: 'no', data_lost: 'no', restored: 'by-itself', before_next: 'yes' });
    }
    fs.mkdirSync('job/filled', { recursive: true });
    fs.writeFileSync('job/filled/rows.csv', csv.map((r) => r.join(',')).join('\n') + '\n');
    return `two series at the bench, and from sheet ${sheet} by table and by CSV`;
  },

  // Served to a browser that keeps nothing: the program's disk holds what is painted; it is killed and started again.
  async served(browser) {
    const program = process.env.FULGURITE, port = 20000 + Math.floor(Math.random() * 20000);
    const journal = path.join('job', 'filled', 'served.form.jsonl');
    fs.mkdirSync(path.dirname(journal), { recursive: true });
    const start = () => new Promise((resolve, reject) => {
      const child = spawn(program, ['form', 'job', '--serve', '--listen', `0.0.0.0:${port}`, '--journal', journal], { stdio: ['ignore', 'pipe', 'pipe'] });
      let text = '';
      child.stdout.on('data', (d) => { text += d; const found = /(http:\S+)\n/.exec(text); if (found) resolve({ child, address: found[1] }); });
      child.stderr.on('data', (d) => { text += d; });
      child.on('exit', () => reject(new Error('the server ended: ' + text)));
    });
    const held = () => fs.readFileSync(journal, 'utf8').split('\n').slice(1).filter(Boolean).map((line) => JSON.parse(line)).filter((e) => e.kind === 'done').length;
    let server = await start();
    const context = await browser.newContext({ viewport: { width: 800, height: 1280 } });
    // Nothing that this browser stores comes into it.
    await context.addInitScript(() => { Object.defineProperty(window, 'indexedDB', { value: undefined }); });
    const page = await context.newPage();
    const errors = [];
    page.on('pageerror', (e) => errors.push(String(e)));
    await page.goto(server.address);
    await page.waitForSelector('#head .stored.good');
    assert.match(await page.textContent('#head .stored'), /PC that serves/);
    await page.click(key('nav-shots'));
    await doneOnce(page, () => page.click(key('done')));
    await doneOnce(page, () => page.click(key('done')));
    assert.equal(held(), 2, 'what is painted as taken is in the file');
    const started = Date.now();
    await page.reload();
    await page.waitForSelector(key('done'));
    await page.waitForSelector('#head .stored.good');
    const reloaded = Date.now() - started;
    assert.equal(doneCount(await stand(page)), 2);
    const opened = await page.evaluate(() => window.bench.journal.entries.filter((e) => e.kind === 'opened').map((e) => e.why));
    assert.deepEqual(opened, ['first', 'again'], 'a reload is written down as one');
    // A second window watches, and takes over when it is told to.
    const two = await context.newPage();
    await two.goto(server.address);
    await painted(two, 'another window');
    await two.click(key('nav-shots'));
    assert.ok(await two.isDisabled(key('done')));
    await two.click(key('take-over'));
    await two.waitForSelector('#head .stored.good');
    await page.waitForSelector('text=This form is open in another window');
    await doneOnce(two, () => two.click(key('done')));
    assert.equal(held(), 3);
    await page.close();
    // The server is killed; a touch is kept, not painted, and stored once it is back.
    server.child.removeAllListeners('exit');
    server.child.kill('SIGKILL');
    await new Promise((r) => setTimeout(r, 300));
    const touched = Date.now();
    await two.click(key('done'));
    await painted(two, 'NOT STORED YET');
    assert.equal(doneCount(await stand(two)), 3, 'not painted before it is stored');
    assert.ok(await two.isDisabled(key('done')));
    await two.waitForTimeout(1500);
    const address = server.address;
    server = await start();
    assert.equal(server.address, address, 'the address, token and all, stays');
    await two.waitForFunction(() => /^4 of/.test(document.querySelector('#head .stand').textContent));
    await gone(two, 'NOT STORED YET');
    assert.equal(held(), 4);
    const last = await two.evaluate(() => window.bench.journal.entries.filter((e) => e.kind === 'done').at(-1).at);
    assert.ok(Math.abs(Date.parse(last) - touched) < 1000, 'its time is that of the touch');
    // A photo goes to the server too.
    await two.setInputFiles(key('photo'), { name: 'x.png', mimeType: 'image/png', buffer: Buffer.from('iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==', 'base64') });
    await two.waitForFunction(() => window.bench.journal.entries.some((e) => e.kind === 'photo'));
    // Killed in the middle of a line: the piece is put aside, and the journal goes on.
    server.child.removeAllListeners('exit');
    server.child.kill('SIGKILL');
    await new Promise((r) => server.child.once('close', r));
    fs.appendFileSync(journal, '{"n":99,"key":"x');
    server = await start();
    await doneOnce(two, () => two.click(key('done')));
    assert.equal(held(), 5);
    assert.ok(fs.existsSync(journal + '.torn-1'));
    fs.rmSync(journal + '.torn-1');
    assert.deepEqual(errors, []);
    server.child.removeAllListeners('exit');
    server.child.kill();
    await context.close();
    return `5 series on the server's disk, over a reload (${reloaded} ms), a second window and two kills of the server`;
  },

  // Rows of a paper sheet, entered in the table; a correction with its reason; a saved form goes on elsewhere.
  async paper(browser) {
    const context = await browser.newContext({ acceptDownloads: true });
    const page = await open(context);
    await page.click(key('person-I. Marsh'));
    await painted(page, 'Tested by I. Marsh');
    await page.fill(key('before-temperature_c'), '12');
    await page.press(key('before-temperature_c'), 'Enter');
    await painted(page, 'outside the limits');
    await page.click(key('earthed-false'));
    await painted(page, 'Not earthed');
    await page.click(key('earthed-true'));
    await page.click('dialog button:has-text("wrong touch")');
    await painted(page, 'changed since');
    await page.click(key('nav-table'));
    await page.click('summary:has-text("paper")');
    await page.fill(key('sheet-code'), 'OPL-1');
    await page.fill(key('sheet-day'), '2026-03-12');
    await page.fill(key('sheet-by'), 'I. Marsh');
    await page.press(key('sheet-by'), 'Enter');
    for (const [id, seen] of [['1', ''], ['2', 'display dark']]) {
      await page.click(key(`copy-${id}`));
      await page.fill('#row-time', '09:30');
      if (seen) await page.fill('#row-seen', seen);
      await page.click('dialog .go');
      await page.waitForFunction((n) => document.querySelectorAll('tr.done').length === n, Number(id));
    }
    const file = await save(page, 'paper.form.json');
    assert.equal(file.journal.find((e) => e.was)?.why, 'wrong touch');
    await context.close();
    const other = await browser.newContext({ acceptDownloads: true });
    const there = await open(other);
    await there.setInputFiles(key('load'), path.join(out, 'paper.form.json'));
    await painted(there, '2 of');
    const again = await save(there, 'paper-later.form.json');
    assert.equal(again.journal.filter((e) => e.kind === 'done').length, 2);
    assert.ok(again.journal.some((e) => e.kind === 'opened' && e.why === 'loaded'));
    await other.close();
    return 'two rows copied from paper, one correction with its reason, loaded into another browser';
  },
};

(async () => {
  const browser = await chromium.launch({ executablePath, args });
  let bad = 0;
  for (const [name, part] of Object.entries(parts)) {
    if (only && !only.includes(name)) continue;
    try {
      console.log(`${name}: ${await part(browser)}`);
    } catch (error) {
      bad += 1;
      console.log(`${name}: FAILED: ${error.stack || error}`);
    }
  }
  await browser.close();
  process.exit(bad ? 1 : 0);
})().catch((error) => { console.error(String(error)); process.exit(2); });
