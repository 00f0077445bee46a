// The page in Chromium with recorded answers, at a phone's and at a desk's size: a whole gap check, with fingers,
// mouse and keyboard. Set SHOTS to a folder to keep a picture of every screen.
import assert from "node:assert/strict";
import { readdir, readFile } from "node:fs/promises";
import { after, before, describe, test } from "node:test";
import { fileURLToPath } from "node:url";
import { openBrowser, Visit } from "./page.mjs";
import { KEPT } from "./pictures.mjs";

const PHOTOS = [1, 2, 3].map((n) => fileURLToPath(new URL(`../../ui/src/lib/backend/recorded/gap-${n}.jpg`, import.meta.url)));
const RECORDED = JSON.parse(await readFile(new URL("../../ui/src/lib/backend/recorded/gap.json", import.meta.url), "utf8"));
const MARKS = [...RECORDED.marks.mount_edge, ...RECORDED.marks.rim_edge];

let browser;

test("every picture that is kept is of a screen that these tests look at", async () => {
  const kept = Object.entries(KEPT).flatMap(([where, sizes]) => sizes.map((size) => `${size}-${where}.png`));
  assert.deepEqual((await readdir(new URL("pictures/", import.meta.url))).sort(), kept.sort());
  const tests = await Promise.all(["page", "checks"].map((name) => readFile(new URL(`${name}.test.mjs`, import.meta.url), "utf8")));
  for (const where of Object.keys(KEPT)) assert.ok(tests.some((text) => text.includes(`look("${where}"`)), where);
});

before(async () => (browser = await openBrowser()));
after(() => browser?.close());

/** Two fingers move apart around a place of the screen. */
async function pinch(page, x, y) {
  const client = await page.context().newCDPSession(page);
  const fingers = (apart) => [
    { x: x - apart, y, id: 1 },
    { x: x + apart, y, id: 2 },
  ];
  await client.send("Input.dispatchTouchEvent", { type: "touchStart", touchPoints: fingers(30) });
  for (const apart of [40, 55, 70, 90]) await client.send("Input.dispatchTouchEvent", { type: "touchMove", touchPoints: fingers(apart) });
  await client.send("Input.dispatchTouchEvent", { type: "touchEnd", touchPoints: [] });
}

for (const name of ["phone", "desk", "desk-dark"]) {
  describe(name, () => {
    let visit;
    let page;

    const look = (where, full) => visit.look(where, full);
    const press = (label) => visit.press(label);

    /** Hands a file to the page by a drop or a paste, as the browser would. */
    const handOver = (way, name, bytes) =>
      page.evaluate(
        ({ way, name, text }) => {
          const data = new DataTransfer();
          data.items.add(new File([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))], name, { type: "image/jpeg" }));
          const options = { bubbles: true, cancelable: true };
          if (way === "drop") document.querySelector(".drop").dispatchEvent(new DragEvent("drop", { ...options, dataTransfer: data }));
          else window.dispatchEvent(new ClipboardEvent("paste", { ...options, clipboardData: data }));
        },
        { way, name, text: bytes.toString("base64") },
      );

    before(async () => {
      visit = await Visit.open(name, browser);
      page = visit.page;
    });

    after(() => visit?.close());

    test("the demo board is one press away", async () => {
      await page.getByRole("button", { name: "Try the demo board" }).waitFor();
      await look("welcome");
      await press("Try the demo board");
      await page.getByRole("heading", { name: "Kestrel 2" }).waitFor();
      await look("board-empty");
    });

    test("a gap check from photos to the saved answer", async () => {
      await press(/Check the gap.*left/);
      await page.getByRole("heading", { name: "Gap check, left corner" }).waitFor();
      await look("check-ready");
      await press("The card is on");

      await look("check-photos-none");
      await page.locator("input[type=file]").setInputFiles([{ name: "notes.txt", mimeType: "text/plain", buffer: Buffer.from("hello") }]);
      await page.getByText("not a photo that can be read").waitFor();
      const files = await Promise.all(
        PHOTOS.map(async (path, n) => ({ name: `kestrel-left-${n + 1}.jpg`, mimeType: "image/jpeg", buffer: await readFile(path) })),
      );
      await page.locator("input[type=file]").setInputFiles(files);
      await page.getByText("That is enough").waitFor();
      assert.equal(await page.getByText("Mount card: 14 of 14 corners").count(), 3, "the photos stay when a bad file comes along");
      await page.locator("input[type=file]").setInputFiles(files.slice(0, 1));
      await page.getByText("in the list already").waitFor();
      await look("check-photos");
      await press("Dismiss");
      await press("Dismiss");
      await press("Next");

      const stage = page.locator(".stage");
      await stage.waitFor();
      await look("check-edges-none", false);
      assert.ok(await page.getByRole("button", { name: "Next" }).isDisabled(), "no marks, no next step");
      const marks = MARKS;
      const box = await visit.place(stage);
      const [left, top, scale] = await stage.locator("img").evaluate((img) => img.style.transform.match(/-?[\d.]+/g).map(Number));
      const at = ([x, y]) => [box.x + left + (x + 0.5) * scale, box.y + top + (y + 0.5) * scale];
      for (const mark of marks) {
        const [x, y] = at(mark);
        if (visit.touch) await page.touchscreen.tap(x, y);
        else await page.mouse.click(x, y);
      }
      await page.getByText("Both edges are marked").waitFor();
      assert.equal(await page.locator("[data-mark]").count(), 5);

      // A drag moves a mark and shows the glass; undo brings it back.
      const handle = page.locator('[data-mark="mount_edge-0"]');
      const before = await handle.getAttribute("transform");
      const grip = await handle.boundingBox();
      await page.mouse.move(grip.x + grip.width / 2, grip.y + grip.height / 2);
      await page.mouse.down();
      await page.mouse.move(grip.x + grip.width / 2 + 20, grip.y + grip.height / 2 + 12, { steps: 4 });
      await page.locator(".glass").waitFor();
      await look("check-edges-glass", false);
      await page.mouse.up();
      assert.notEqual(await handle.getAttribute("transform"), before);
      await press("Undo");
      assert.equal(await handle.getAttribute("transform"), before);

      // The keyboard moves a mark as well.
      await handle.focus();
      await page.keyboard.press("Shift+ArrowRight");
      assert.notEqual(await handle.getAttribute("transform"), before);
      await page.keyboard.press("Control+z");
      assert.equal(await handle.getAttribute("transform"), before);
      await look("check-edges", false);

      // Two fingers or the wheel bring the photo closer.
      const closeness = () => Number(document.querySelector(".stage img").style.transform.match(/scale\(([\d.]+)\)/)[1]);
      const farther = await page.evaluate(closeness);
      if (visit.touch) await pinch(page, box.x + box.width / 2, box.y + box.height / 2);
      else {
        await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
        await page.mouse.wheel(0, -400);
      }
      await page.waitForFunction(`(${closeness})() > ${1.3 * farther}`);
      await press("Next");

      await page.getByRole("heading", { name: "The printed page" }).waitFor();
      await page.getByLabel("Bar across").fill("15");
      await page.getByText("near 150 mm").waitFor();
      await page.getByLabel("Bar across").fill("150.1");
      await page.getByLabel("Bar along").fill("149,9");
      await look("check-sizes");
      // Held, or the answer may be there before it is cancelled.
      await page.evaluate(() => sessionStorage.setItem("measuring", "held"));
      await press("Measure");
      await page.getByText("Measuring…").waitFor();
      await press("Cancel");
      await page.getByRole("heading", { name: "The printed page" }).waitFor();
      await page.evaluate(() => sessionStorage.removeItem("measuring"));
      await press("Measure");
      await page.getByText("Too tight").first().waitFor();
      await page.getByText("Why this much?").click();
      await page.waitForTimeout(300);
      await look("check-answer");
      await page.getByLabel("Work done").fill("Ring changed to 31/64 in, wheel turns free.");
      await press("Save to the history");

      await page.getByRole("heading", { name: "Gap, left corner" }).waitFor();
      await page.waitForTimeout(300);
      await look("entry");
      assert.equal(await page.getByLabel("Work done").inputValue(), "Ring changed to 31/64 in, wheel turns free.");
      await press("← Kestrel 2");
      await page.getByText("Ring changed to 31/64 in").waitFor();
      await page.waitForTimeout(300);
      await look("board");
    });

    test("one view alone is refused in plain words, and the way on is offered", async () => {
      await press(/Check the gap.*right/);
      await press("The card is on");
      await handOver("drop", "kestrel-left-1.jpg", await readFile(PHOTOS[0]));
      await page.getByText("One view cannot tell").waitFor();
      await handOver("paste", "kestrel-left-1.jpg", await readFile(PHOTOS[0]));
      await page.getByText("in the list already").waitFor();
      await press("Dismiss");
      await press("Next");
      for (let n = 0; n < 5; n += 1) {
        await press("Mark the middle");
        await page.keyboard.press("Shift+ArrowRight");
        await page.keyboard.press("Shift+ArrowDown");
      }
      await page.getByText("Both edges are marked").waitFor();
      await press("Next");
      await page.getByLabel("I have not measured them").check();
      await look("check-sizes-one-view");
      await press("Measure");
      await page.getByText("cannot tell height from distance").waitFor();
      await look("check-refused");
      await press("Leave");
      await look("check-leave");
      await press("Throw it away");
      await page.getByRole("heading", { name: "Kestrel 2" }).waitFor();
    });

    test("proposed edges count once somebody has confirmed them", async () => {
      await press(/Check the gap.*right/);
      await press("The card is on");
      const files = await Promise.all(
        PHOTOS.map(async (path, n) => ({ name: `kestrel-left-${n + 1}.jpg`, mimeType: "image/jpeg", buffer: await readFile(path) })),
      );
      await page.locator("input[type=file]").setInputFiles(files);
      await page.getByText("That is enough").waitFor();
      await press("Next");
      const next = page.getByRole("button", { name: "Next" });
      await press("Find the edges");
      await page.getByText("Rim edge: proposed, quality 82 of 100.").waitFor();
      await look("check-edges-proposed", false);
      assert.equal(await page.locator("[data-mark]").count(), 5);
      assert.ok(await next.isDisabled(), "nobody has looked at the proposed marks");
      await press("Take them away");
      assert.equal(await page.locator("[data-mark]").count(), 0);
      await press("Find the edges");
      await press("The marks lie right");
      assert.ok(await next.isEnabled(), "confirmed marks are marks");
      await press("Leave");
      await press("Throw it away");
      await page.getByRole("heading", { name: "Kestrel 2" }).waitFor();
    });

    test("a belt tension from the microphone to the history", async () => {
      await press(/Belt tension.*left/);
      await page.getByRole("heading", { name: "Belt tension, left corner" }).waitFor();
      await page.getByText("disconnect the battery").waitFor();
      await look("tension");
      assert.ok(await page.getByRole("button", { name: "Tell the tension" }).isDisabled(), "nothing was recorded yet");
      await page.locator("input[type=file]").setInputFiles([{ name: "plucks.m4a", mimeType: "audio/mp4", buffer: Buffer.from("hello") }]);
      await page.getByText("not a WAV file").waitFor();
      await press("Record");
      await page.getByText("1 s recorded").waitFor();
      await look("tension-recording");
      await press("Stop");
      await page.getByText("plucks.wav").waitFor();
      await page.getByLabel("Free span").fill("98,6");
      await page.getByLabel("Belt mass").fill("58.5");
      await page.getByLabel("± of that, g/m").fill("3");
      await press("Tell the tension");
      await page.getByText("± 4 N", { exact: true }).waitFor();
      await page.getByText("disconnect the battery").waitFor();
      await look("tension-answer");
      await page.getByLabel("Work done").fill("Motor slid 2 mm back.");
      await press("Save to the history");
      await page.getByText("Motor slid 2 mm back.").waitFor();
      await page.getByText("Left, 51 ± 4 N").click();
      await page.getByRole("heading", { name: "Belt tension, left corner" }).waitFor();
      await look("tension-entry");
      await press("← Kestrel 2");
      await page.getByRole("heading", { name: "Kestrel 2" }).waitFor();
    });

    test("a record and a sealed bundle, and places only when asked each time", async () => {
      await press("Records");
      await page.getByRole("heading", { name: "Records" }).waitFor();
      await page.getByText("Technician, parts, torques").click();
      await page.getByLabel("Technician", { exact: true }).fill("Ada");
      await page.getByLabel("Torques used").fill("tight");
      await page.getByText("write the screw, its torque").waitFor();
      assert.equal(await page.getByRole("button", { name: "Keep these notes" }).isDisabled(), true, "what is not read is not kept");
      await page.getByLabel("Torques used").fill("pulley screws: 3.5 N m, maker's table");
      await look("records-notes");
      await press("Keep these notes");
      await page.getByText("Not kept yet.").waitFor({ state: "detached" });
      await press("Write the record");
      await page.getByText("The record is written.").waitFor();
      const place = page.getByRole("checkbox", { name: /place where they were taken/ });
      assert.equal(await place.isChecked(), false, "places stay at home unless asked for");
      await place.check();
      await page.getByText("can see where the photos were taken").waitFor();
      await press("Seal it, with places");
      await page.getByText("is sealed.").waitFor();
      assert.equal(await place.isChecked(), false, "the next bundle asks again");
      await look("records");
    });

    test("backup, restore, lists, taking in, checking a bundle, photos", async () => {
      await press(/^Keep$/);
      await page.getByRole("heading", { name: "Keep the history" }).waitFor();
      await look("keep");
      await press("Back up now");
      await page.getByText("The backup is written.").waitFor();
      await page.getByLabel("Put back").selectOption({ index: 2 });
      assert.equal(await page.getByRole("button", { name: "Restore" }).isDisabled(), true, "nothing is replaced unasked");
      await page.getByRole("checkbox", { name: /Replace the history/ }).check();
      await press("Restore");
      await page.getByText("The history was replaced.").waitFor();
      await page.getByRole("checkbox", { name: /With the photos/ }).check();
      await press("Write the lists");
      await page.getByText("The lists are written.").waitFor();
      assert.equal(await page.getByRole("checkbox", { name: /With the photos/ }).isChecked(), false, "photos are asked for each time");
      await page.getByLabel("From").selectOption({ index: 1 });
      await press("Take it in");
      await page.getByText("It is taken in.").waitFor();
      await press("Remove these");
      await page.getByText("Cleaned up.").waitFor();
      const bundle = (name) => ({ name, mimeType: "application/zip", buffer: Buffer.from("PK") });
      await page.locator("input[type=file]").setInputFiles([bundle("kestrel.zip")]);
      await page.getByText("Everything that was looked at holds.").waitFor();
      await page.getByText("Every number", { exact: true }).click();
      await look("keep-good-bundle");
      await page.locator("input[type=file]").setInputFiles([bundle("kestrel-changed.zip")]);
      await page.getByText("This bundle does not hold.").waitFor();
      await look("keep-changed-bundle");
      await press("Boards");
      await press("Kestrel 2");
      await page.getByRole("heading", { name: "Kestrel 2" }).waitFor();
    });

    test("boards, rings, cards and settings", async () => {
      await press("Edit");
      await page.getByRole("heading", { name: "Edit the board" }).waitFor();
      await look("board-form");
      await press("Boards");
      await page.getByRole("heading", { name: "Boards" }).waitFor();
      await press("Add a board");
      await page.getByLabel("Name").fill("Marlin");
      await press("Save the board");
      await page.getByRole("heading", { name: "Marlin" }).waitFor();
      await press("Boards");
      await look("boards");
      await press("Rings");
      await page.getByRole("heading", { name: "Spacer rings" }).waitFor();
      await press("Add a ring");
      await look("rings");
      await press("Print");
      await press("Write the PDF");
      await page.getByText("print at 100 %").waitFor();
      await look("print");
      await press("About");
      await page.getByText("Data folder").waitFor();
      await look("about");
      await page.getByLabel("Inches").check();
      await press("Boards");
      await press("Kestrel 2");
      await page.locator(".first", { hasText: "in" }).first().waitFor();
    });

    test("nothing broke the policy or threw on the way", () => {
      assert.deepEqual(visit.troubles, []);
    });
  });
}
