import type { CheckResult } from "../types";

/** A tension as the workshop tells it: three plucks of a span of 98.6 mm, belt of 58.5 g/m. */
export function recordedTension(): CheckResult {
  return {
    check: "tension",
    values: {
      frequency: { value: 150.31, u95: 0.52, unit: "Hz" },
      tension: { value: 51.39, u95: 3.46, unit: "N" },
      pull_to_slack: { value: 102.78, u95: 6.92, unit: "N" },
      inharmonicity: { value: 0.00021, u95: 0.00018, unit: "1" },
      plucks: [
        { value: 150.02, u95: 0.61, unit: "Hz" },
        { value: 150.48, u95: 0.58, unit: "Hz" },
        { value: 150.43, u95: 0.63, unit: "Hz" },
      ],
    },
    verdict: {
      state: "undecided",
      text: "there is nothing to judge it by: no maker's value was given and this corner has no earlier reading; as loose as possible without skipping is common practice (no source), so set the belt, ride, and keep this reading to compare the next one with",
      limit: 0,
      probability: 0,
    },
    budget: [
      { part: "belt mass", u: 1.34, note: "the mass for each metre that was stated" },
      { part: "span ends", u: 0.94, note: "the pulleys hold the belt's ends between hinged and clamped" },
      { part: "span length", u: 0.53, note: "the free length that was stated; it counts twice" },
      { part: "pluck spread", u: 0.18, note: "how much one pluck differs from the next" },
      { part: "noise", u: 0.09, note: "how sharply the pitch stands out of the noise" },
    ],
    photos: [],
    warnings: [
      "at `pull_to_slack` the slack span goes empty (both axes at rest, from memory); at which pull this belt skips nobody publishes, so no skip margin is given",
    ],
  };
}
