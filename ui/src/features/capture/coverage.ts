import type { PhotoAdded } from "../../lib/backend";
import { t } from "../../lib/words/words.svelte";

/** Parts of a turn that should have a photo each. */
export const SECTORS = 8;
/** From so many photos on, and as many parts, a turn is well covered. */
const GOOD_PHOTOS = 8;
const GOOD_SECTORS = 6;

/** Which eighths of the turn have a photo, by the rough wheel angles that the workshop told. */
export function coveredSectors(photos: readonly PhotoAdded[]): boolean[] {
  const covered = Array.from({ length: SECTORS }, () => false);
  for (const { wheel_angle } of photos) {
    if (wheel_angle !== undefined) covered[Math.floor((wheel_angle / 360) * SECTORS) % SECTORS] = true;
  }
  return covered;
}

/** What a turn check still wants, and why. */
export function turnWanted(photos: readonly PhotoAdded[]): string {
  if (photos.length === 0) return t("wanted.turn-none");
  const covered = coveredSectors(photos).filter(Boolean).length;
  const blind = photos.filter((photo) => photo.wheel_angle === undefined).length;
  if (blind === photos.length) return t("wanted.turn-blind");
  if (photos.length < 4) return t("wanted.turn-few", { count: 4 - photos.length });
  if (covered < GOOD_SECTORS) return t("wanted.turn-open");
  if (photos.length < GOOD_PHOTOS) return t("wanted.turn-some");
  return t("wanted.turn-enough");
}
