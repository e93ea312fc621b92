// Outside judge for the viewer of packs, in a real browser, from file://, without a network.
// usage: NODE_PATH=<node_modules> node judge_viewer.js VIEWER.html PACK.zip [--altered NAME | --refused TEXT] [--pictures FOLDER]
// A good pack must be called in order and its verdict derived again; an altered one must name the file NAME; a refused
// one must say TEXT. In every case: no axe violation in light and in dark, no script error, no request to the outside.
const path = require('path');
const { chromium } = require('playwright-core');
const axeCore = require('axe-core');

const [viewer, pack, ...rest] = process.argv.slice(2);
const option = (name) => (rest.includes(name) ? rest[rest.indexOf(name) + 1] : null);
const [altered, refused, pictures] = ['--altered', '--refused', '--pictures'].map(option);
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
const failures = [];
const hold = (sound, what) => sound || failures.push(what);

(async () => {
  const executablePath = process.env.CHROMIUM || '/usr/bin/chromium';
  const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
  const context = await browser.newContext();
  await context.setOffline(true);
  const page = await context.newPage();
  const outside = [];
  const errors = [];
  page.on('request', (request) => /^(file|data|blob):/.test(request.url()) || outside.push(request.url()));
  page.on('pageerror', (error) => errors.push(String(error)));
  page.on('console', (message) => message.type() === 'error' && errors.push(message.text()));
  await page.goto(`file://${path.resolve(viewer)}`);
  await askAxe(page, 'empty page');

  const start = Date.now();
  await page.setInputFiles('#file', pack);
  await page.waitForSelector('#headline', { timeout: 300_000 });
  const took = Date.now() - start;
  const title = await page.textContent('#headline');
  const text = await page.innerText('#result');
  if (altered) {
    hold(/altered or is not whole/.test(title), `an altered pack is headed "${title}"`);
    hold(text.includes(altered), `the altered file ${altered} is not named`);
  } else if (refused) {
    hold(/not taken for a pack/.test(title), `a refused file is headed "${title}"`);
    hold(text.includes(refused), `"${refused}" is not said`);
  } else {
    hold(/^Verdict: (pass|fail|undetermined)$/.test(title), `a good pack is headed "${title}"`);
    hold(text.includes('Derived again from record and standard'), 'the verdict was not derived again');
    const bad = await page.$$eval('.word', (all) => all.filter((one) => one.textContent.includes('not in order')).map((one) => one.parentElement.textContent));
    hold(bad.length === 0, `something of a good pack is called not in order: ${bad}`);
  }
  hold((await page.evaluate(() => document.activeElement.id)) === 'headline', 'the headline has not the focus');
  for (const scheme of ['light', 'dark']) {
    await page.emulateMedia({ colorScheme: scheme });
    for (const width of [1280, 360, 320]) {
      await page.setViewportSize({ width, height: 800 });
      const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
      hold(over <= 0, `${scheme}: ${over} px too wide at ${width} px`);
      if (pictures && width > 320) await picture(page, `${scheme}-${width}`);
    }
    await askAxe(page, `result, ${scheme}`);
  }
  // Papers of a pack that is not in order need not open.
  if (!altered && !refused && failures.length === 0) await openPapers(context, page);
  const reached = await reachable(page);
  hold(reached.missed.length === 0, `${reached.seen} of ${reached.wanted} controls are reached by Tab, not ${reached.missed}`);
  hold(outside.length === 0, `requests to the outside: ${outside}`);
  hold(errors.length === 0, `script errors: ${errors}`);
  console.log(JSON.stringify({ title, milliseconds: took, controls: reached.wanted, failures }));
  await browser.close();
  process.exit(failures.length ? 1 : 0);
})().catch((error) => {
  console.error(String(error));
  process.exit(2);
});

/** The page in pieces of 1400 px, the first four of them. */
async function picture(page, name) {
  const height = Math.min(5600, await page.evaluate(() => document.documentElement.scrollHeight));
  for (let y = 0, number = 1; y < height; y += 1400, number += 1) {
    const clip = { x: 0, y, width: page.viewportSize().width, height: Math.min(1400, height - y) };
    await page.screenshot({ path: path.join(pictures, `${name}-${number}.png`), fullPage: true, clip });
  }
}

async function askAxe(page, where) {
  await page.evaluate(axeCore.source);
  const { violations } = await page.evaluate((values) => axe.run(document, { runOnly: { type: 'tag', values } }), TAGS);
  for (const { id, nodes } of violations) hold(false, `axe, ${where}: ${id} at ${nodes[0].target.join(' ')}`);
}

/** A page and a text of the pack open in tabs of their own, the page without scripts. */
async function openPapers(context, page) {
  for (const ending of ['.html', '.pdf', 'record.json']) {
    const button = page.locator(`button[aria-label^="Open data/"][aria-label$="${ending}"]`).first();
    if ((await button.count()) === 0) continue;
    const opened = context.waitForEvent('page', { timeout: 20_000 });
    await button.click();
    const tab = await opened;
    await tab.waitForLoadState('domcontentloaded').catch(() => {});
    hold(tab.url().startsWith('blob:'), `${ending} opened as ${tab.url()}`);
    if (ending === '.html') {
      hold((await tab.title()) !== '', 'the report in the pack opens without a title');
      const ran = await tab.evaluate(() => {
        const script = document.createElement('script');
        script.textContent = 'window.ran = true';
        document.body.append(script);
        return window.ran === true;
      });
      hold(!ran, 'a script ran in a page of the pack');
    }
    await tab.close();
  }
}

async function reachable(page) {
  const wanted = await page.$$eval('a[href],button,input,summary,[tabindex="0"]', (all) => all.filter((one) => !one.disabled && one.checkVisibility()).length);
  const seen = new Set();
  await page.evaluate(() => document.activeElement?.blur());
  for (let i = 0; i < wanted + 5; i += 1) {
    await page.keyboard.press('Tab');
    const mark = await page.evaluate(() => {
      const one = document.activeElement;
      return one && one !== document.body ? (one.dataset.reached ||= String(Math.random())) : '';
    });
    if (mark) seen.add(mark);
  }
  const missed = await page.$$eval('a[href],button,input,summary,[tabindex="0"]', (all) =>
    all.filter((one) => !one.disabled && one.checkVisibility() && !one.dataset.reached).map((one) => one.outerHTML.slice(0, 100)));
  return { wanted, seen: seen.size, missed };
}
