// The whole alarm by keyboard alone: no mouse, no touch.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { LAPTOP, openBrowser, device, picture } from './browser.mjs';
import { joined, realDesk } from './real.mjs';

let browser;
let desk;
let page;
before(async () => {
  desk = await realDesk();
  browser = await openBrowser();
});
after(async () => {
  await browser?.close();
  await desk?.stop();
});

async function held(key) {
  await page.keyboard.down(key);
  await page.waitForTimeout(700);
  await page.keyboard.up(key);
}

/** Moves on by Tab until the focus is on something with these words. */
async function tabTo(words, most = 90) {
  for (let k = 0; k < most; k += 1) {
    await page.keyboard.press('Tab');
    const name = await page.evaluate(() => {
      const node = document.activeElement;
      return `${node?.getAttribute('aria-label') ?? ''} ${node?.textContent ?? ''}`.trim();
    });
    if (words.test(name)) return name;
  }
  throw new Error(`no way by Tab to ${words}`);
}

test('joins, takes a role, raises the alarm from another room with F9 held', async () => {
  page = await device(browser, { size: LAPTOP });
  await page.goto(desk.url);
  await tabTo(/Word of today|^$/);
  await page.getByLabel('Word of today').focus();
  await page.keyboard.type('kestrel-heron-41');
  await page.keyboard.press('Enter');
  await page.locator('.before').waitFor();
  await tabTo(/Water/);
  await page.keyboard.press('Enter');
  await page.locator('.water-page').waitFor();
  await page.keyboard.press('F9');
  await page.waitForTimeout(300);
  assert.equal(await page.locator('.asking').count(), 0, 'a touch of F9 does nothing');
  await held('F9');
  await page.locator('.asking').waitFor();
});

test('where by the map with arrow keys, when by Enter', async () => {
  await tabTo(/Map of the bathing water/);
  for (const key of ['ArrowUp', 'ArrowUp', 'ArrowLeft']) await page.keyboard.press(key);
  await picture(page, 'keyboard-01-map');
  await page.keyboard.press('Enter');
  await page.getByText(/Where: on the map/).waitFor();
  await tabTo(/2 min/);
  await page.keyboard.press('Enter');
  await page.getByRole('button', { name: 'Said it' }).waitFor({ timeout: 20_000 });
});

test('says orders with 1, opens and closes pages, reads the map in words', async () => {
  const first = await page.locator('.order .say').innerText();
  await page.keyboard.press('1');
  await page.waitForFunction((words) => document.querySelector('.order .say')?.innerText !== words, first);
  await tabTo(/Map in words/);
  await page.keyboard.press('Enter');
  const within = () => page.evaluate(() => document.activeElement?.closest('.maplist') !== null && document.activeElement.textContent);
  for (let k = 0; k < 9 && !(await within()); k += 1) await page.keyboard.press('Tab');
  const sentence = await within();
  await page.waitForFunction(() => document.querySelectorAll('.maplist li').length > 1, null, { timeout: 15_000 });
  assert.ok(sentence);
  await page.keyboard.press('ArrowDown');
  const next = await within();
  assert.ok(next && next !== sentence, `${sentence} → ${next}`);
  await page.keyboard.press('4');
  await page.locator('.sheet', { hasText: 'Witness 2' }).waitFor();
  await tabTo(/^Landmark/);
  await page.keyboard.press('Enter');
  await tabTo(/^Raft/);
  await page.keyboard.press('Enter');
  await page.keyboard.press('Escape');
  await page.locator('.sheet').waitFor({ state: 'detached' });
  await page.keyboard.press('6');
  await tabTo(/Who is missing/);
  await page.keyboard.press('Enter');
  await tabTo(/^1\.3/);
  await page.keyboard.press('Enter');
  await tabTo(/This is who is missing/);
  await page.keyboard.press('Enter');
  await page.locator('.sheet').waitFor({ state: 'detached' });
});

test('ALL OUT, back in, FOUND: keys held, and buttons with Space held', async () => {
  await held('a');
  await page.locator('.allout').waitFor();
  await tabTo(/^Back in/);
  await held(' ');
  await page.locator('.running').waitFor();
  await held('f');
  await page.locator('.foundroom').waitFor();
  await tabTo(/^Surfaced/);
  await page.keyboard.press('Enter');
  await page.locator('.care .dn').waitFor();
  await tabTo(/^Not them/);
  await held('Enter');
  await page.locator('.running').waitFor();
  await picture(page, 'keyboard-02-running');
});

test('a screen reader, which cannot hold, presses twice', async () => {
  const other = await joined(browser, desk, { role: 'gate' });
  await other.locator('.gate').waitFor();
  const button = other.locator('.holdable.found').first();
  await button.evaluate((node) => node.click());
  await other.waitForTimeout(300);
  assert.equal(await other.locator('.foundroom').count(), 0, 'once is not enough');
  await other.waitForTimeout(300);
  await button.evaluate((node) => node.click());
  await other.waitForTimeout(1500);
  await picture(other, 'keyboard-03-twice');
  await other.locator('.foundroom').waitFor({ timeout: 8_000 });
  assert.deepEqual(other.faults, []);
  assert.deepEqual(page.faults, []);
});
