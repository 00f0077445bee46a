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

/** `Mount card: 14 of 14 corners`. */
export function foundWords(target: FoundTarget): string {
  const name = targetName(target.name);
  return `${name.charAt(0).toUpperCase()}${name.slice(1)}: ${target.corners} of ${target.of} corners`;
}

/** Whether the card that a gap check needs is in the photo. */
export function hasCard(photo: PhotoAdded): boolean {
  return photo.found.some((target) => target.name === "mount-card");
}
