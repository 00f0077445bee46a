import type { FoundTarget, PhotoAdded } from "../../lib/backend";
import { targetName } from "../../lib/format/words";

/** The file types that the picker offers; the workshop looks at the bytes and decides. */
export const ACCEPTED = "image/jpeg,image/png,image/tiff,image/webp,.jpg,.jpeg,.png,.tif,.tiff,.webp";

/** From two views on, height and distance can be told apart; a third makes the answer sure of itself. */
export const GOOD_NUMBER = 3;

/** What is still wanted, in words. */
export function photosWanted(count: number): string {
  if (count === 0) return "Three photos from different sides give a good answer.";
  if (count === 1) return "One view cannot tell height from distance: add at least one more from further left or right.";
  if (count < GOOD_NUMBER) return "Enough to measure. One more from another side makes it surer.";
  return "That is enough. More views from other sides only make it surer.";
}

/** What a play check still wants: a photo of each side that the wheel was pushed to. */
export function playWanted(count: number): string {
  if (count === 0) return "Two photos: one with the wheel pushed, one with it pulled.";
  if (count === 1) return "Now pull the wheel the other way and take one more.";
  return "Enough to measure. More pushes and pulls show whether it comes out the same.";
}

/** What an alignment check still wants. */
export function alignmentWanted(count: number): string {
  if (count === 0) return "Four photos from above: two from outboard of the pulleys, two from inboard.";
  if (count === 1) return "One view cannot tell how far away the pulleys are: add one from the other side.";
  if (count < 4) return "Enough to measure. One more, from the other side or from higher up, makes it surer.";
  return "That is enough. More views only make it surer.";
}

/** What a part check still wants. */
export function partWanted(count: number): string {
  if (count === 0) return "Three photos: one from above, two from a slant.";
  if (count === 1) return "One view cannot tell height from distance: add one from a slant, or state the part's height later.";
  if (count < GOOD_NUMBER) return "Enough to measure. One more from another side makes it surer.";
  return "That is enough. More views from other sides only make it surer.";
}

/** Photos that make a good profile (common practice, no source). */
const GOOD_CALIBRATION = 8;

/** What a calibration still wants. */
export function cameraWanted(count: number): string {
  if (count === 0) return "A dozen photos from all sides make a good profile.";
  if (count < 3) return `${3 - count} more at least: fewer than three do not determine a lens.`;
  if (count < GOOD_CALIBRATION) return "Enough to try. More from other sides, and turned upright, make it surer.";
  return "That is enough. The answer says if a side is missing.";
}

/** `Mount card: 14 of 14 corners`. */
export function foundWords(target: FoundTarget): string {
  const name = targetName(target.name);
  return `${name.charAt(0).toUpperCase()}${name.slice(1)}: ${target.corners} of ${target.of} corners`;
}

/** Targets that a photo should show and does not. */
export function missingTargets(photo: PhotoAdded, shows: readonly string[]): string[] {
  return shows.filter((name) => !photo.found.some((target) => target.name === name));
}
