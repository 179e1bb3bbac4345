// Practice: on every screen, until it is real; then on none, within a second.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { LAPTOP, axe, hold, misfits, openBrowser, picture } from './browser.mjs';
import { joined, realDesk } from './real.mjs';

let browser;
let desk;
let all;
before(async () => {
  desk = await realDesk();
  browser = await openBrowser();
  all = [await joined(browser, desk, { role: 'lead' }), await joined(browser, desk, { role: 'gate', dusk: true }), await joined(browser, desk, { role: 'recorder', size: LAPTOP })];
});
after(async () => {
  await browser?.close();
  await desk?.stop();
});

test('an alarm begun as practice says so on every screen and in every room', async () => {
  const [lead] = all;
  await lead.evaluate(() => (location.hash = 'practice'));
  await picture(lead, 'practice-00');
  await hold(lead, lead.locator('.practice-start'));
  await Promise.all(all.map((page) => page.getByText('PRACTICE', { exact: true }).waitFor()));
  await lead.getByRole('button', { name: 'Landmark' }).click();
  await lead.getByRole('button', { name: 'Nobody saw them in the water' }).click();
  await lead.getByRole('button', { name: 'just now' }).click();
  await lead.getByRole('button', { name: 'Said it' }).waitFor({ timeout: 20_000 });
  for (const [k, page] of all.entries()) {
    assert.ok(await page.getByText('PRACTICE', { exact: true }).isVisible());
    await picture(page, `practice-01-${k}`);
    assert.deepEqual(await misfits(page), []);
    assert.deepEqual(await axe(page), []);
  }
});

test('this is real, from any device: every screen turns within a second', async () => {
  await hold(all[1], all[1].locator('.real'));
  const begun = Date.now();
  await Promise.all(all.map((page) => page.getByText('PRACTICE', { exact: true }).waitFor({ state: 'detached' })));
  const took = Date.now() - begun;
  console.log(`this is real on every screen after ${took} ms`);
  assert.ok(took < 1_000, `${took} ms`);
  await picture(all[0], 'practice-02-real');
  for (const page of all) assert.deepEqual(page.faults, []);
});
