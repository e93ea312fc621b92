// The whole plan of a form opened from disk, worked through by one kind of hand: keys alone, or a finger alone.
// usage: NODE_PATH=<node_modules> node bench_whole_day.js FORM.html OUT_DIR keys|touch
// needs Debian chromium and: npm install playwright-core
// What was painted as taken, and the saved form, go to OUT_DIR; a check that does not hold ends with exit code 1.
const fs = require('fs'), path = require('path'), assert = require('assert');
const { chromium } = require('playwright-core');
const form = 'file://' + path.resolve(process.argv[2]);
const out = path.resolve(process.argv[3]);
const kind = process.argv[4];
const BOUNCE = 950; // the page takes two touches of "done" closer than 0.9 s for one
fs.mkdirSync(out, { recursive: true });
const key = (k) => `[data-key="${k}"]`;
const stand = (page) => page.textContent('#head .stand');
const shown = (page, words) => page.waitForFunction((w) => ['header', '#alarms', 'main', 'dialog'].some((s) => [...document.querySelectorAll(s)].some((x) => x.textContent.includes(w))), words);

// Keys alone. What the shots need has a key of its own; the rest is reached with Tab and pressed with Enter.
function keys(page) {
  const own = { done: 'PageDown', happened: 'PageUp', shot: 'ArrowRight', spark: 'ArrowRight', nospark: 'ArrowLeft', undo: 'Backspace', outside: 'Insert' };
  const hand = {
    acts: 0, farthest: 0,
    async reach(test, what) {
      for (let steps = 0; steps < 400; steps += 1) {
        if (await page.evaluate(([t, w]) => (t === 'key' ? document.activeElement?.dataset?.key === w : t === 'id' ? document.activeElement?.id === w
          : document.activeElement?.tagName === 'BUTTON' && document.activeElement.textContent === w), [test, what])) {
          hand.farthest = Math.max(hand.farthest, steps);
          return;
        }
        await page.keyboard.press('Tab');
        hand.acts += 1;
      }
      throw new Error(`Tab does not reach ${what}`);
    },
    async press(name) {
      if (own[name] && await page.evaluate(() => document.querySelector('main').className === 'shots' && !document.querySelector('dialog'))) {
        hand.acts += 1;
        return page.keyboard.press(own[name]);
      }
      await hand.reach('key', name);
      hand.acts += 1;
      return page.keyboard.press('Enter');
    },
    async answer(words) { await hand.reach('words', words); hand.acts += 1; await page.keyboard.press('Enter'); },
    async write(test, name, text) { await hand.reach(test, name); await page.keyboard.press('Control+A'); await page.keyboard.type(text); },
    async take() { hand.acts += 1; await page.keyboard.press('Enter'); },
  };
  return hand;
}

// A finger alone; text comes from the keyboard that a tablet shows.
function touch(page) {
  const place = (test, name) => (test === 'key' ? key(name) : `#${name}`);
  const hand = {
    acts: 0, farthest: 0, last: '',
    async press(name) { hand.acts += 1; await page.tap(key(name)); },
    async answer(words) { hand.acts += 1; await page.tap(`dialog button:text-is("${words}")`); },
    async write(test, name, text) {
      hand.acts += 1;
      hand.last = place(test, name);
      await page.tap(hand.last);
      await page.evaluate(() => document.activeElement.select?.());
      await page.keyboard.insertText(text);
    },
    async take() { hand.acts += 1; await page.locator('form', { has: page.locator(hand.last) }).locator('button[type=submit]').tap(); },
  };
  return hand;
}

async function run(browser) {
  const context = await browser.newContext({ viewport: { width: 800, height: 1280 }, hasTouch: kind === 'touch', acceptDownloads: true });
  const page = await context.newPage();
  const errors = [];
  page.on('pageerror', (e) => errors.push(String(e)));
  page.on('request', (r) => { if (!/^(file|data|blob):/.test(r.url())) errors.push('asked the network: ' + r.url()); });
  // The other hand stays away.
  await page.exposeFunction('strange', (what) => errors.push(`not by ${kind}: ${what}`));
  await page.addInitScript((kind) => {
    addEventListener('pointerdown', (e) => { if (kind === 'keys' || e.pointerType !== 'touch') window.strange(e.pointerType); }, true);
    addEventListener('keydown', (e) => { if (kind === 'touch') window.strange(e.key); }, true);
  }, kind);
  await page.goto(form);
  await page.waitForSelector('#head .stored.good');
  const hand = kind === 'keys' ? keys(page) : touch(page);
  const day = await page.evaluate(() => window.bench.now().slice(0, 10));

  // Before.
  await hand.press('person-I. Marsh');
  await shown(page, 'Tested by I. Marsh');
  for (const [k, v] of [['temperature_c', '21,4'], ['humidity_percent', '42'], ['pressure_hpa', '1007']]) await hand.write('key', `before-${k}`, v);
  await hand.take();
  await shown(page, '21.4 °C');
  await hand.press('g-as');
  await shown(page, 'Fitted:');
  await hand.write('key', `check/${day}/bleeder-horizontal`, '941');
  await hand.take();
  await shown(page, '941 kohm');
  await hand.press(`check/${day}/spark-before-true`);
  await shown(page, 'insulating part: in order');
  await hand.press('to-shots');
  await page.waitForSelector(key('done'));

  const tell = async (answers, seen) => {
    for (const answer of answers) {
      await hand.press(answer);
      await page.waitForSelector(`${key(answer)}[aria-pressed=true]`);
    }
    await hand.write('key', 'seen', seen);
    await hand.take();
    await shown(page, 'Every fact that a verdict may need is stated');
  };
  const facts = ['affected-item', 'coincident-true', 'function-service-port', 'state_changed-false', 'data_lost-false', 'restored-by-itself', 'before_next-true'];
  const done = async () => {
    const before = await page.evaluate(() => window.bench.day.lastDone?.n ?? 0), acts = hand.acts;
    await hand.press('done');
    await page.waitForFunction((n) => (window.bench.day.lastDone?.n ?? 0) > n && document.querySelector('#head .stand'), before);
    await page.waitForTimeout(BOUNCE);
    return hand.acts - acts;
  };
  const current = () => page.evaluate(() => { const { day } = window.bench; const p = day.plan.find((x) => x.id === day.current); return p && { id: p.id, application: p.application, why: p.why }; });
  const counted = (n) => page.waitForFunction((n) => document.querySelector('[data-key=shot], [data-key=spark]')?.textContent.includes(`(${n}`), n);
  const count = async (n) => {
    await hand.press(await page.$(key('spark')) ? (n % 3 === 0 ? 'nospark' : 'spark') : 'shot');
    await counted(n);
  };
  const reload = async (n) => {
    await page.reload();
    await page.waitForSelector('#head .stored.good');
    await page.waitForSelector(key('done'));
    await counted(n);
  };

  let clean = 0, most = 0, captured = 0, airCounted = false, worked = 0;
  for (;;) {
    const now = await current();
    if (!now) break;
    if (worked === 2) {
      // Counted one by one, with a reload in the middle.
      for (let n = 1; n <= 4; n += 1) await count(n);
      await reload(4);
      for (let n = 5; n <= 10; n += 1) await count(n);
      await done();
    } else if (now.application === 'air' && !airCounted) {
      airCounted = true;
      for (let n = 1; n <= 5; n += 1) await count(n);
      await reload(5);
      for (let n = 6; n <= 10; n += 1) await count(n);
      await done();
    } else if (worked === 4 || worked === 8) {
      const acts = hand.acts;
      await hand.press('happened');
      await page.waitForSelector('#event-title');
      captured = Math.max(captured, hand.acts - acts);
      if (worked === 4) {
        await tell(facts, 'service connection dropped and came back');
        await hand.press('back');
        await page.waitForSelector(key('back'), { state: 'detached' });
        await hand.press('later');
      } else {
        // Details wait until the series is over.
        await hand.press('later');
        await page.waitForSelector(key('done'));
        await done();
        await hand.press('open-e2');
        await page.waitForSelector('#event-title');
        await tell(facts, 'display flickered once');
        await hand.press('later');
        worked += 1;
        continue;
      }
      await page.waitForSelector(key('done'));
      await done();
    } else if (worked === 6) {
      await hand.press('skip');
      await page.waitForSelector('dialog');
      await hand.answer('point not reachable');
      await shown(page, '1 skipped');
    } else if (worked === 10) {
      // Taken back, and done again.
      await done();
      await hand.press('undo');
      await page.waitForFunction((id) => window.bench.day.current === id, now.id);
      await done();
    } else if (worked === 12 && !now.why) {
      await hand.press('outside');
      await page.waitForSelector('dialog');
      await hand.write('id', 'out-voltage', '9');
      await hand.write('id', 'out-why', 'to see how near the limit is');
      await hand.take();
      await page.waitForFunction(() => window.bench.day.outside.length === 1 && document.querySelector('.count').textContent === 'outside the plan');
      continue;
    } else if (worked === 14) {
      await hand.press('order');
      await page.waitForSelector('table.series');
      await hand.press('first-40');
      await page.waitForSelector('dialog');
      await hand.answer('to look at an effect again');
      await page.waitForFunction(() => window.bench.day.current === '40');
      await done();
    } else {
      clean += 1;
      most = Math.max(most, await done());
    }
    worked += 1;
  }
  assert.ok(clean > 50 && most === 1, `${clean} clean series, at most ${most} touches each`);
  assert.ok(captured >= 1 && captured <= 3, `${captured} touches to capture an observation`);

  // After.
  await hand.press('to-after');
  await page.waitForSelector('.wanting, .taken');
  await hand.press(`check/${day}/spark-after-true`);
  await page.waitForFunction((d) => window.bench.day.said[`check/${d}/spark-after`], day);
  await hand.write('key', 'note', 'compressor next door from the third series on');
  await hand.take();
  await shown(page, '✓ compressor');
  await hand.write('key', 'sign', 'I. Marsh');
  await hand.take();
  await shown(page, 'Written down by I. Marsh');
  const [download] = await Promise.all([page.waitForEvent('download'), hand.press('save')]);
  await download.saveAs(path.join(out, `${kind}.form.json`));
  await hand.press('nav-table');
  await page.waitForSelector('table.series');
  const rows = await page.$$eval('table.series tbody tr', (all) => all.map((x) => ({ id: x.cells[0].textContent, point: x.cells[1].textContent, application: x.cells[2].textContent, voltage: x.cells[3].textContent, stands: x.cells[4].textContent })));
  const events = await page.$$eval('[data-key^="ev-"]', (all) => all.map((x) => x.textContent));
  fs.writeFileSync(path.join(out, `${kind}.painted.json`), JSON.stringify({ rows, events, stand: await stand(page) }));
  assert.deepEqual(errors, []);
  await context.close();
  return `${rows.filter((r) => r.stands.startsWith('✓')).length} series, ${clean} clean ones with ${most} touch each, an observation with ${captured}, ${hand.acts} acts in all${kind === 'keys' ? `, at most ${hand.farthest} steps of Tab` : ''}`;
}

(async () => {
  const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || '/usr/bin/chromium', args: ['--no-sandbox'] });
  let bad = 0;
  try {
    console.log(`${kind}: ${await run(browser)}`);
  } catch (error) {
    bad = 1;
    console.log(`${kind}: FAILED: ${error.stack || error}`);
  }
  await browser.close();
  process.exit(bad);
})();
