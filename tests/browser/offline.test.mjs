// A phone that loses the desk: clock, last picture, order zero and buttons stay; what was reported arrives once, in order.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { hold, misfits, openBrowser, picture } from './browser.mjs';
import { joined, realDesk } from './real.mjs';

let browser;
let desk;
let phone;
let other;
before(async () => {
  desk = await realDesk();
  browser = await openBrowser();
  phone = await joined(browser, desk, { role: 'lead' });
  other = await joined(browser, desk, { role: 'gate' });
  // The worker has what it needs once it is in charge of the page.
  await phone.evaluate(() => navigator.serviceWorker.ready);
  await phone.waitForFunction(() => navigator.serviceWorker.controller !== null);
});
after(async () => {
  await browser?.close();
  await desk?.stop();
});

const texts = (locator) => locator.allTextContents();
const seconds = (clock) => clock.trim().split(':').reduce((sum, part) => 60 * sum + Number(part), 0);
async function log() {
  const text = await phone.evaluate(() => fetch('/files/log.jsonl').then((answer) => answer.text()));
  return text.trim().split('\n').map((line) => JSON.parse(line));
}

test('the morning’s cards come to the phone', async () => {
  await phone.evaluate(() => (location.hash = 'today'));
  await phone.locator('.zone').first().waitFor({ timeout: 180_000 });
  await phone.locator('.zone button').first().click();
  assert.ok((await phone.locator('.zero-cards li').count()) >= 2);
  await picture(phone, 'offline-00-today');
  await phone.evaluate(() => (location.hash = 'alarm'));
});

test('with the desk dead from the start: alarm, where, when, and order zero on the phone alone', async () => {
  await desk.kill();
  await phone.getByText(/no link since/).waitFor({ timeout: 15_000 });
  await phone.context().setOffline(true);
  await hold(phone, phone.locator('.big1'));
  await phone.getByText('Everyone out of the water.').waitFor();
  await phone.getByRole('button', { name: 'Landmark' }).click();
  await phone.getByRole('button', { name: 'Raft', exact: true }).click();
  await phone.getByRole('button', { name: '1 min', exact: true }).click();
  // Order zero stands in.
  await phone.getByText(/card 1 of/).waitFor();
  await picture(phone, 'offline-01-order-zero');
  assert.deepEqual(await misfits(phone), []);
  assert.deepEqual((await texts(phone.locator('.waits li span'))).slice(0, 2), ['Swimmer missing', 'Where, sighting 1: Raft']);

  const clock = seconds(await phone.locator('.clock').innerText());
  await phone.reload();
  await phone.getByText(/card 1 of/).waitFor();
  const later = seconds(await phone.locator('.clock').innerText());
  assert.ok(later >= clock && later < clock + 30, `${clock} s before the reload, ${later} s after`);
  assert.equal(await phone.locator('.waits li').count(), 3, 'the outbox survives the reload');
  await phone.getByRole('button', { name: 'Said it' }).click();
  await phone.getByText(/4 reports wait/).waitFor();
});

test('the desk comes back: nobody touches anything, everything arrives once, in order, with its true time', async () => {
  const before_ = Date.now();
  await desk.start();
  await phone.context().setOffline(false);
  await phone.locator('.waits').waitFor({ state: 'detached', timeout: 20_000 });
  await other.locator('.gate').waitFor({ timeout: 20_000 });
  const entries = await log();
  const mine = entries.filter((entry) => entry.report_id && !JSON.stringify(entry.event).includes('role')).filter((entry) => /missing|sighting|note/i.test(JSON.stringify(entry.event)));
  const kinds = mine.map((entry) => JSON.stringify(entry.event).match(/missing|sighting|note/i)[0].toLowerCase());
  assert.deepEqual(kinds, ['missing', 'sighting', 'sighting', 'note']);
  assert.equal(new Set(mine.map((entry) => entry.report_id)).size, 4);
  assert.ok(mine.every((entry) => entry.happened_at_ms < before_), 'they happened while the desk was dead');
  assert.ok(mine.every((entry, k) => k === 0 || entry.seq > mine[k - 1].seq));
  await phone.getByRole('button', { name: 'Said it' }).waitFor({ timeout: 20_000 });
});

test('in the middle of a search: the last picture stays with its age, reports wait in order, and go once', async () => {
  await phone.context().setOffline(true);
  await phone.getByText(/no link since/).waitFor({ timeout: 15_000 });
  await phone.getByRole('button', { name: 'Other report' }).click();
  await phone.locator('.sheet .menu').getByRole('button', { name: 'Surface looked over' }).click();
  await phone.getByRole('button', { name: 'Other report' }).click();
  await phone.locator('.sheet .menu').getByRole('button', { name: 'Shore checked' }).click();
  await phone.locator('.sheet .menu .ink').click();
  await phone.getByText('2 reports wait, in this order').waitFor();
  await phone.getByText(/picture from/).waitFor();
  await picture(phone, 'offline-02-waiting');
  assert.deepEqual(await misfits(phone), []);
  await phone.reload();
  await phone.getByText('2 reports wait, in this order').waitFor();
  const clock = seconds(await phone.locator('.clock').innerText());
  await phone.waitForTimeout(2_100);
  assert.ok(seconds(await phone.locator('.clock').innerText()) > clock, 'the clock runs');
  // The network comes back, the answer to the first try is lost on the way, and the desk is killed once more.
  await phone.context().setOffline(false);
  await phone.locator('.waits').waitFor({ state: 'detached', timeout: 20_000 });
  await desk.kill();
  await desk.start();
  await phone.locator('.link:not(.off)').waitFor({ timeout: 20_000 });
  await other.locator('.link:not(.off)').waitFor({ timeout: 20_000 });
  const entries = (await log()).map((entry) => JSON.stringify(entry.event));
  assert.equal(entries.filter((event) => event.includes('"surface_looked"')).length, 1);
  assert.equal(entries.filter((event) => event.includes('"shore_looked"')).length, 1);
  assert.ok(entries.findIndex((event) => event.includes('"surface_looked"')) < entries.findIndex((event) => event.includes('"shore_looked"')));
});

test('a lost answer does not make a report twice', async () => {
  // The desk records it, the answer never comes: the phone sends the same name again.
  let lost = 0;
  await phone.context().setOffline(false);
  await phone.route('**/api/report', async (route) => {
    if (lost === 0) {
      lost += 1;
      await route.fetch();
      await route.abort('connectionreset');
    } else await route.continue();
  });
  await phone.getByRole('button', { name: 'Other report' }).click();
  await phone.locator('.sheet .menu').getByRole('button', { name: 'Services called' }).click();
  await phone.waitForTimeout(6_000);
  await phone.unroute('**/api/report');
  const called = (await log()).filter((entry) => /services?_?called/i.test(JSON.stringify(entry.event)));
  assert.equal(lost, 1);
  assert.equal(called.length, 1);
});
