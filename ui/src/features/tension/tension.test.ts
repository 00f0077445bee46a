import { describe, expect, it } from "vitest";
import type { Backend } from "../../lib/backend";
import { recordedBackend } from "../../lib/backend/recorded";
import { TensionCheck, problemOf } from "./tension.svelte";

function filled(workshop: Backend): TensionCheck {
  const check = new TensionCheck("demo", "left", workshop);
  check.span = "98,6";
  check.mass = "58.5";
  check.massU95 = "3";
  return check;
}

describe("a tension check", () => {
  it("is ready only with a recording and numbers that make sense", async () => {
    const check = filled(recordedBackend());
    expect(check.ready).toBe(false);
    await check.take("plucks.wav", new ArrayBuffer(2000));
    expect(check.ready).toBe(true);
    check.spanU95 = "200";
    expect(check.problems.spanU95).toMatch(/between 0 and 98.6/);
    check.spanU95 = "1";
    check.mass = "0.0585";
    expect(check.ready).toBe(false);
  });

  it("asks for the tension with the recording and the belt, and keeps the answer", async () => {
    const recorded = recordedBackend();
    await recorded.loadDemo();
    const check = filled(recorded);
    await check.take("plucks.wav", new ArrayBuffer(2000));
    expect(check.job.belt).toEqual({ span: { value: 98.6, u95: 1 }, mass_per_length: { value: 58.5, u95: 3 } });
    await check.measure();
    expect(check.failure).toBeNull();
    expect(check.measured?.result.check).toBe("tension");
    expect(await check.save()).toBe(true);
    const { history } = await recorded.board("demo");
    expect(history[0]?.job.belt?.span.value).toBe(98.6);
    const next = new TensionCheck("demo", "left", recorded);
    next.startFrom(history);
    expect([next.span, next.mass, next.massU95]).toEqual(["98.6", "58.5", "3"]);
  });

  it("says what is wrong with a recording", async () => {
    const check = filled(recordedBackend());
    await check.take("plucks.m4a", new ArrayBuffer(2000));
    expect(check.failure?.code).toBe("bad-input");
    expect(check.sound).toBeNull();
  });
});

describe("a field", () => {
  it.each([
    ["", "Enter a number."],
    ["12 mm", "Enter a number."],
    ["7", "Enter a number between 15 and 1500."],
    ["15", null],
    ["1500", null],
  ])("%s", (text, problem) => expect(problemOf(text, 15, 1500)).toBe(problem));
});
