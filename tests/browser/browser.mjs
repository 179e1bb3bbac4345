// The browser of the tests: Debian's chromium by playwright-core, with nothing that reaches outside.
import { createRequire } from 'node:module';
import { existsSync, mkdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const require = createRequire(new URL('../../web/package.json', import.meta.url));
const { chromium } = require('playwright-core');
const AXE = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

export const PHONE = { width: 390, height: 844 };
export const LAPTOP = { width: 1280, height: 800 };
export const PICTURES = fileURLToPath(new URL('../../target/screens/', import.meta.url));
mkdirSync(PICTURES, { recursive: true });

function program() {
  const named = process.env.FATHOMLINE_BROWSER;
  const found = [named, '/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'].find((path) => path && existsSync(path));
  if (!found) throw new Error('no chromium: install the package chromium, or name one in FATHOMLINE_BROWSER');
  return found;
}

export async function openBrowser() {
  return chromium.launch({
    executablePath: program(),
    args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
  });
}

/** One device: its own storage, its own cookies. Every request that leaves the desk is a fault. */
export async function device(browser, { size = PHONE, dusk = false, ...more } = {}) {
  const context = await browser.newContext({ viewport: size, hasTouch: size.width < 700, reducedMotion: 'reduce', locale: 'en-GB', timezoneId: 'Europe/London', ...more });
  if (dusk) await context.addInitScript(() => localStorage.setItem('theme', 'dusk'));
  const page = await context.newPage();
  page.faults = [];
  page.on('pageerror', (error) => page.faults.push(`error: ${error.message}`));
  page.on('console', (message) => {
    const text = message.text();
    if (message.type() === 'error' && !/ERR_(CONNECTION|INTERNET|FAILED|NETWORK|EMPTY|INCOMPLETE)|Failed to load resource/.test(text)) page.faults.push(`console: ${text}`);
  });
  page.on('request', (request) => {
    const { protocol, hostname } = new URL(request.url());
    if (protocol.startsWith('http') && !['127.0.0.1', 'localhost'].includes(hostname)) page.faults.push(`outside: ${request.url()}`);
  });
  return page;
}

/** Holds a control for 0.7 s with the mouse, as a finger would. */
export async function hold(page, locator) {
  await locator.scrollIntoViewIfNeeded();
  const box = await locator.boundingBox();
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await page.mouse.down();
  await page.waitForTimeout(700);
  await page.mouse.up();
}

export async function picture(page, name) {
  await page.screenshot({ path: `${PICTURES}${name}.png` });
}

/** What axe finds, serious and critical, in words. */
export async function axe(page) {
  // Evaluated by the debugger, so that the page's own policy need not be loosened for it.
  await page.evaluate(AXE);
  const { violations } = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] }));
  return violations
    .filter((one) => ['serious', 'critical'].includes(one.impact))
    .map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => `${node.target.join(' ')} (${node.failureSummary?.split('\n')[1]?.trim()})`).join(' | ')}`);
}

/** Words or buttons that do not fit: outside the window, cut off, or under 64 px. */
export async function misfits(page) {
  return page.evaluate(() => {
    const found = [];
    const name = (node) => `${node.tagName.toLowerCase()}.${[...node.classList].join('.')} "${(node.textContent ?? '').trim().slice(0, 24)}"`;
    const { scrollHeight, scrollWidth, clientHeight, clientWidth } = document.documentElement;
    if (scrollHeight > clientHeight + 1 || scrollWidth > clientWidth + 1) found.push(`the page scrolls: ${scrollWidth}x${scrollHeight} in ${clientWidth}x${clientHeight}`);
    const room = document.querySelector('.phone, .sheet');
    for (const node of room?.querySelectorAll('button, .say, .shout li, .ask, .clock, .side') ?? []) {
      const box = node.getBoundingClientRect();
      const style = getComputedStyle(node);
      if (box.width === 0 || style.visibility === 'hidden' || node.closest('.vh')) continue;
      if (node.classList.contains('rising')) continue;
      if (node.closest('.scrolls, .counting, .sheet .body, .nm')) continue;
      if (box.bottom > innerHeight + 1 || box.right > innerWidth + 1 || box.top < -1 || box.left < -1) found.push(`outside: ${name(node)} ${Math.round(box.top)}..${Math.round(box.bottom)}`);
      // Tight lines reach a little past their own box; a button must hold all of its words.
      const spare = node.tagName === 'BUTTON' ? 3 : 12;
      if (node.scrollHeight > node.clientHeight + spare && node.clientHeight > 0 && !node.querySelector('.text') && !['inline'].includes(style.display)) found.push(`cut off: ${name(node)} ${node.scrollHeight} in ${node.clientHeight}`);
      if (node.scrollWidth > node.clientWidth + 2 && node.clientWidth > 0 && style.display !== 'inline' && !node.querySelector('.n')) found.push(`too wide: ${name(node)} ${node.scrollWidth} in ${node.clientWidth}`);
    }
    for (const phone of document.querySelectorAll('.phone')) {
      if (phone.scrollHeight > phone.clientHeight + 1) found.push(`the screen is cut off: ${phone.scrollHeight} in ${phone.clientHeight}`);
    }
    return found;
  });
}

/** Touch targets under 64 px high or wide on a phone's alarm screen. */
export async function smallTargets(page) {
  return page.evaluate(() =>
    [...document.querySelectorAll('.phone button, .phone a, .practice-bar button')]
      .filter((node) => {
        const box = node.getBoundingClientRect();
        return box.width > 0 && !node.closest('.vh') && (box.height < 63.5 || box.width < 63.5);
      })
      .map((node) => `${(node.textContent ?? '').trim().slice(0, 30)} ${Math.round(node.getBoundingClientRect().width)}x${Math.round(node.getBoundingClientRect().height)}`),
  );
}
