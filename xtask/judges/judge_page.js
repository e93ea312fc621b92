// Asks axe-core, in the system's headless Chromium, about a page that must work from disk with no network.
//
// usage: NODE_PATH=<node_modules> node judge_page.js FILE.html...      exit 0: nothing found, 1: something, 2: could not run
//
// Looked at, in light and in dark: axe's rules for WCAG 2.2 A and AA, script errors, anything asked of the network, every control reachable by
// the Tab key, no sideways scrolling at 320 px, a sign at the edge of each region that scrolls there, a title and a language; the
// rules once more at 320 px.
const path = require("path");
const { chromium } = require("playwright-core");
const axe = require("axe-core");

const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];

/** Regions that scroll sideways without a sign at their edge, a name or a way in for the keyboard; and drawings that lie over the sign. */
function unseen(page) {
  return page.evaluate(() =>
    [...document.querySelectorAll("*")]
      .filter((one) => one.scrollWidth > one.clientWidth && /auto|scroll/.test(getComputedStyle(one).overflowX))
      .flatMap((one) => {
        const name = one.getAttribute("aria-label");
        const look = getComputedStyle(one);
        const fixed = look.backgroundAttachment.split(/, */).filter((word) => word === "scroll").length;
        const drawing = one.querySelector(":scope > svg");
        const lacks = [];
        if (!look.backgroundImage.includes("gradient") || fixed < 2) lacks.push("a shadow at its edges");
        if (!name) lacks.push("a name");
        if (one.tabIndex < 0) lacks.push("the focus");
        if (drawing && getComputedStyle(drawing).zIndex !== "-1") lacks.push("a drawing below its shadow");
        return lacks.map((what) => `a region that scrolls sideways lacks ${what}: ${name ?? one.className}`);
      }));
}

async function judge(browser, file, colorScheme) {
  const found = [];
  const context = await browser.newContext({ colorScheme });
  await context.setOffline(true);
  const page = await context.newPage();
  page.on("request", (request) => {
    if (!/^(file|data|blob):/.test(request.url())) found.push(`asks the network for ${request.url()}`);
  });
  page.on("pageerror", (error) => found.push(`script error: ${error}`));
  page.on("console", (message) => {
    if (message.type() === "error") found.push(`error on the console: ${message.text()}`);
  });
  await page.goto("file://" + path.resolve(file));
  if (!(await page.title())) found.push("no title");
  if (!(await page.getAttribute("html", "lang"))) found.push("no language");

  await page.evaluate(axe.source);
  const ask = async (where) => {
    const result = await page.evaluate((tags) => axe.run(document, { runOnly: { type: "tag", values: tags } }), TAGS);
    for (const rule of result.violations) {
      const places = rule.nodes.slice(0, 3).map((node) => node.target.join(" "));
      found.push(`axe${where} ${rule.impact} ${rule.id} (${rule.nodes.length}): ${places.join(", ")}`);
    }
    return result;
  };
  const result = await ask("");

  const controls = "a[href],button,input:not([type=hidden]),select,textarea,summary,[tabindex='0']";
  const wanted = await page.$$eval(controls, (all) => {
    const seen = all.filter((one) => !one.disabled && one.offsetParent);
    seen.forEach((one, index) => (one.dataset.judge = String(index)));
    return seen.length;
  });
  const reached = new Set();
  for (let step = 0; step < wanted + 5; step++) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(() => document.activeElement?.dataset.judge ?? "");
    if (at !== "") reached.add(at);
  }
  if (reached.size < wanted) found.push(`${wanted - reached.size} of ${wanted} controls are not reached by Tab`);

  await page.setViewportSize({ width: 320, height: 640 });
  const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  if (over > 0) found.push(`scrolls sideways by ${over} px at 320 px`);
  found.push(...(await unseen(page)));
  // Tables become cards there, so the page is looked at once more; in one of the two colour schemes, for time.
  if (colorScheme === "light") await ask(" at 320 px");
  await context.close();
  console.log(`${found.length ? "NO" : "yes"} ${file} (${colorScheme}): ${result.passes.length} rules of axe passed, ${wanted} controls`);
  for (const one of found) console.log("   " + one);
  return found.length === 0;
}

async function main(files) {
  if (files.length === 0) throw new Error("no file named");
  const executablePath = process.env.CHROMIUM || "/usr/bin/chromium";
  const args = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run"];
  const browser = await chromium.launch({ executablePath, args });
  let sound = true;
  for (const file of files) {
    for (const scheme of ["light", "dark"]) sound = (await judge(browser, file, scheme)) && sound;
  }
  await browser.close();
  return sound ? 0 : 1;
}

main(process.argv.slice(2)).then(
  (code) => process.exit(code),
  (error) => {
    console.error(String(error));
    process.exit(2);
  },
);
