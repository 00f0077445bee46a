import { nice, ticks } from "d3-array";

/** From values to plot units, in a straight line. */
export interface Scale {
  (value: number): number;
  /** The values at both ends. */
  readonly domain: readonly [number, number];
  /** About so many round values in it. */
  ticks(count: number): number[];
}

/** A scale whose ends are the given values. */
export function linear([from, to]: readonly [number, number], [start, end]: readonly [number, number]): Scale {
  const place = (value: number): number => start + ((value - from) / (to - from)) * (end - start);
  return Object.assign(place, { domain: [from, to] as const, ticks: (count: number) => ticks(from, to, count) });
}

/** A scale whose ends are round values around the given ones. */
export function niceLinear([from, to]: readonly [number, number], range: readonly [number, number], count: number): Scale {
  return linear(nice(from, to, count), range);
}
