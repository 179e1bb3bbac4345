// The map on the real desk: the photo under it, kept for when the link is gone; own place; turning, pinching, numbers that explain themselves.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { LAPTOP, axe, device, hold, misfits, openBrowser, picture } from './browser.mjs';
import { join_, joined, realDesk } from './real.mjs';

let browser;
let desk;
let phone;
let laptop;
before(async () => {
  desk = await realDesk();
  browser = await openBrowser();
  phone = await joined(browser, desk, { role: 'lead', geolocation: { longitude: -3.1003, latitude: 54.5001, accuracy: 6 }, permissions: ['geolocation'] });
  laptop = await joined(browser, desk, { role: 'recorder', size: LAPTOP });
});
after(async () => {
  await browser?.close();
  await desk?.stop();
});

const image = (page) => page.locator('.photo-frame img');
const shown = (page) =>
  page.waitForFunction(() => {
    const img = document.querySelector('.photo-frame img');
    return img?.complete && img.naturalWidth > 0 && getComputedStyle(img.parentElement).display !== 'none' && img.style.transform.startsWith('matrix');
  }, null, { timeout: 15_000 });
/** The photo has come to a device that does not show the map yet. */
const shownPhoto = async (page) => {
  await room(page, 'water');
  await shown(page);
};
const room = (page, name) => page.evaluate((to) => (location.hash = to), name);

test('the photo lies under the chart where its corners say, and its switch takes it away', async () => {
  await room(laptop, 'water');
  await shown(laptop);
  await laptop.getByText('photo of 2026-05-02').waitFor();
  await picture(laptop, 'map-01-water-laptop');
  assert.deepEqual(await axe(laptop), []);
  // Turned as the map is: seen from the shore, north is to the right.
  const [a, b] = (await image(laptop).evaluate((node) => node.style.transform)).match(/-?[\d.]+/g).map(Number);
  const turn = (Math.atan2(b, a) * 180) / Math.PI;
  const facing = (await laptop.evaluate(() => fetch('/api/site').then((answer) => answer.json()))).facing_deg;
  // Flown with its top eight degrees east of north.
  const wanted = ((((8 - facing) % 360) + 540) % 360) - 180;
  assert.ok(Math.abs(((turn - wanted + 540) % 360) - 180) < 1.5, `${turn} and not ${wanted}`);
  await laptop.getByRole('button', { name: 'Photo' }).click();
  await laptop.getByText('photo of 2026-05-02').waitFor({ state: 'detached' });
  assert.equal(await image(laptop).isVisible().catch(() => false), false);
  await laptop.reload();
  await room(laptop, 'water');
  await laptop.locator('.water-page .scale').waitFor();
  assert.equal(await laptop.getByRole('button', { name: 'Photo' }).getAttribute('aria-pressed'), 'false', 'the choice is kept');
  await laptop.waitForTimeout(450);
  await laptop.getByRole('button', { name: 'Photo' }).click();
  await shown(laptop);
});

test('the photo is for those who joined, and nobody else', async () => {
  const { photo } = await phone.evaluate(() => fetch('/api/still').then((answer) => answer.json()));
  const answers = await phone.evaluate((address) => Promise.all([address, '/api/photo/0123456789abcdef'].map((one) => fetch(one).then((answer) => [answer.status, answer.headers.get('content-type')]))), photo.address);
  assert.deepEqual(answers[0], [200, 'image/jpeg']);
  assert.equal(answers[1][0], 404);
  assert.equal((await fetch(`${desk.url}${photo.address}`)).status, 401);
  assert.equal((await fetch(`${desk.url}/api/still`)).status, 401);
});

test('all that a phone fetches at first, chart, cards and photo with it, is under 400 kB', async () => {
  const page = await device(browser);
  const client = await page.context().newCDPSession(page);
  await client.send('Network.enable');
  let bytes = 0;
  client.on('Network.loadingFinished', ({ encodedDataLength }) => (bytes += encodedDataLength));
  await join_(page, desk);
  await shownPhoto(page);
  console.log(`first load on the real desk: ${(bytes / 1000).toFixed(0)} kB with map, chart, cards and photo`);
  assert.ok(bytes > 100_000 && bytes < 400_000, `${bytes}`);
  await page.context().close();
});

test('limits and readings open their explanation, in metres and in feet', async () => {
  await laptop.locator('.limits .fig').first().click();
  await laptop.locator('.sheet').getByText(/planning value of this site/).waitFor();
  assert.equal(await laptop.locator('.sheet .st').count(), 2, 'the value of the site and that of the register, each with its standing');
  await picture(laptop, 'map-02-limit');
  await laptop.keyboard.press('Escape');
  await room(laptop, 'today');
  await laptop.locator('.numbered .fig').first().click();
  await laptop.locator('.sheet').getByText('measured here').waitFor();
  await laptop.keyboard.press('Escape');
  await room(phone, 'water');
  await phone.evaluate(() => localStorage.setItem('feet', 'yes'));
  await phone.reload();
  await phone.locator('.limits .fig', { hasText: '1.2 m (4 ft)' }).waitFor();
  await phone.evaluate(() => localStorage.setItem('feet', 'no'));
  await phone.reload();
  await room(phone, 'alarm');
});

test('a touched place has the doubt of the register, with its standing', async () => {
  await phone.locator('.big1').waitFor();
  await hold(phone, phone.locator('.big1'));
  await phone.locator('.asking .mapbox .scale').waitFor();
  const box = await phone.locator('.mapbox .canvas').boundingBox();
  await phone.touchscreen.tap(box.x + box.width * 0.45, box.y + box.height * 0.4);
  const doubt = phone.getByRole('button', { name: /± 5 m/ });
  await doubt.click();
  await phone.locator('.rd .why').getByText('assumed').first().waitFor();
  await picture(phone, 'map-03-doubt');
  assert.deepEqual(await misfits(phone), []);
  assert.deepEqual(await axe(phone), []);
  const told = await phone.evaluate(() => fetch('/files/log.jsonl').then((answer) => answer.text()));
  const place = told.split('\n').filter((line) => line.includes('"point"'));
  assert.equal(place.length, 1);
  assert.doesNotMatch(place[0], /"error_m":\s*\d/, 'the page sets no doubt of its own');
  await phone.getByRole('button', { name: '2 min' }).click();
  await phone.locator('.running').waitFor({ timeout: 15_000 });
});

test('the large map: two fingers turn and widen it, and everything on it stands in a list that explains itself', async () => {
  await phone.waitForFunction(() => document.querySelectorAll('.vh .maplist li').length > 2, null, { timeout: 20_000 });
  await phone.locator('.cut button').last().click();
  await phone.locator('.bigmap .scale').waitFor();
  await shown(phone);
  await phone.waitForTimeout(400);
  await picture(phone, 'map-04-large');
  const before_ = await image(phone).evaluate((node) => node.style.transform);
  const client = await phone.context().newCDPSession(phone);
  const box = await phone.locator('.bigmap .canvas').boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  const fingers = (r, turn) => [turn, turn + Math.PI].map((at, id) => ({ id, x: x + r * Math.cos(at), y: y + r * Math.sin(at) }));
  await client.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: fingers(40, 0) });
  for (let k = 1; k <= 12; k += 1) {
    await client.send('Input.dispatchTouchEvent', { type: 'touchMove', touchPoints: fingers(40 + 5 * k, (k * Math.PI) / 24) });
    await phone.waitForTimeout(16);
  }
  await client.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] });
  await phone.waitForTimeout(400);
  const after_ = await image(phone).evaluate((node) => node.style.transform);
  const parts = (text) => text.match(/-?[\d.]+/g).map(Number);
  const [[a, b], [c, d]] = [parts(before_), parts(after_)];
  assert.ok(Math.hypot(c, d) > 1.5 * Math.hypot(a, b), 'two fingers apart: closer');
  const turned = Math.abs(Math.atan2(d, c) - Math.atan2(b, a)) * (180 / Math.PI);
  assert.ok(turned > 40 && turned < 140, `turned by ${turned.toFixed(0)}°`);
  await picture(phone, 'map-05-turned');
  await phone.getByRole('button', { name: 'Where am I' }).click();
  await phone.getByRole('button', { name: 'Hide me' }).waitFor();
  await phone.getByRole('button', { name: 'As you face it' }).click();
  await phone.waitForTimeout(500);
  await picture(phone, 'map-06-own-place');
  await phone.getByRole('button', { name: 'In words' }).click();
  const items = phone.locator('.words .maplist span');
  for (const [words, card] of [
    [/^If on the bottom/, /least ground/],
    [/^lane \d+/i, /holds so much of the belief/],
    [/^last seen point 1/, /standard error/],
    [/^current/, /floats/],
  ]) {
    await items.filter({ hasText: words }).first().click();
    await phone.locator('.sheet').getByText(card).first().waitFor();
    await phone.keyboard.press('Escape');
    await phone.locator('.sheet').waitFor({ state: 'detached' });
    await phone.waitForTimeout(420);
  }
  const gap = items.filter({ hasText: /not covered/ }).first();
  if ((await gap.count()) > 0) {
    assert.match(await gap.innerText(), /: .+/, 'a gap says why');
    await gap.click();
    await phone.locator('.sheet').getByText(/no order covers/).waitFor();
    await phone.keyboard.press('Escape');
  }
});

test('without the desk the photo is still there, also after the page is opened anew', async () => {
  await phone.waitForFunction(() => navigator.serviceWorker?.controller !== null || navigator.serviceWorker.ready.then(() => true));
  await desk.kill();
  await phone.reload();
  await phone.locator('.running, .asking').first().waitFor({ timeout: 15_000 });
  await phone.locator('.cut button').last().click();
  await shown(phone);
  await picture(phone, 'map-07-no-desk');
  assert.deepEqual(phone.faults, []);
  assert.deepEqual(laptop.faults, []);
});

test('panning on a phone four times slower stays fluid', async () => {
  await desk.start();
  const client = await phone.context().newCDPSession(phone);
  await phone.waitForFunction(() => document.querySelector('.bigmap .scale') !== null);
  await client.send('Emulation.setCPUThrottlingRate', { rate: 4 });
  const box = await phone.locator('.bigmap .canvas').boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await phone.evaluate(() => {
    globalThis.frames_ = [];
    let last = performance.now();
    const step = (now) => {
      globalThis.frames_.push(now - last);
      last = now;
      globalThis.tick_ = requestAnimationFrame(step);
    };
    globalThis.tick_ = requestAnimationFrame(step);
  });
  await client.send('Input.dispatchTouchEvent', { type: 'touchStart', touchPoints: [{ x, y }] });
  for (let k = 1; k <= 60; k += 1) {
    await client.send('Input.dispatchTouchEvent', { type: 'touchMove', touchPoints: [{ x: x + 60 * Math.sin(k / 6), y: y + 50 * Math.sin(k / 9) }] });
    await phone.waitForTimeout(16);
  }
  await client.send('Input.dispatchTouchEvent', { type: 'touchEnd', touchPoints: [] });
  const frames = await phone.evaluate(() => (cancelAnimationFrame(globalThis.tick_), globalThis.frames_.slice(2)));
  await client.send('Emulation.setCPUThrottlingRate', { rate: 1 });
  const sorted = [...frames].sort((a, b) => a - b);
  const at = (share) => sorted[Math.floor(share * (sorted.length - 1))];
  console.log(`panning at a quarter of the speed: ${frames.length} frames, middle ${at(0.5).toFixed(0)} ms, 95 % ${at(0.95).toFixed(0)} ms`);
  assert.ok(at(0.5) < 120, `${at(0.5)} ms a frame`);
});
