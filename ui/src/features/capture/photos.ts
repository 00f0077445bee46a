import type { FoundTarget, PhotoAdded } from "../../lib/backend";
import { targetName } from "../../lib/format/words";
import { t } from "../../lib/words/words.svelte";

/** The file types that the picker offers; the workshop looks at the bytes and decides. */
export const ACCEPTED = "image/jpeg,image/png,image/tiff,image/webp,.jpg,.jpeg,.png,.tif,.tiff,.webp";

/** From two views on, height and distance can be told apart; a third makes the answer sure of itself. */
export const GOOD_NUMBER = 3;

/** What is still wanted, in words. */
export function photosWanted(count: number): string {
  if (count === 0) return t("wanted.gap-none");
  if (count === 1) return t("wanted.gap-one");
  if (count < GOOD_NUMBER) return t("wanted.gap-some");
  return t("wanted.gap-enough");
}

/** What a play check still wants: a photo of each side that the wheel was pushed to. */
export function playWanted(count: number): string {
  if (count === 0) return t("wanted.play-none");
  if (count === 1) return t("wanted.play-one");
  return t("wanted.play-enough");
}

/** What an alignment check still wants. */
export function alignmentWanted(count: number): string {
  if (count === 0) return t("wanted.alignment-none");
  if (count === 1) return t("wanted.alignment-one");
  if (count < 4) return t("wanted.alignment-some");
  return t("wanted.alignment-enough");
}

/** What a part check still wants. */
export function partWanted(count: number): string {
  if (count === 0) return t("wanted.part-none");
  if (count === 1) return t("wanted.part-one");
  if (count < GOOD_NUMBER) return t("wanted.gap-some");
  return t("wanted.gap-enough");
}

/** Photos that make a good profile (common practice, no source). */
const GOOD_CALIBRATION = 8;

/** What a calibration still wants. */
export function cameraWanted(count: number): string {
  if (count === 0) return t("wanted.camera-none");
  if (count < 3) return t("wanted.camera-few", { count: 3 - count });
  if (count < GOOD_CALIBRATION) return t("wanted.camera-some");
  return t("wanted.camera-enough");
}

/** `Mount card: 14 of 14 corners`. */
export function foundWords(target: FoundTarget): string {
  const name = targetName(target.name);
  return t("photos.found", { target: name.charAt(0).toUpperCase() + name.slice(1), found: target.corners, all: target.of });
}

/** Targets that a photo should show and does not. */
export function missingTargets(photo: PhotoAdded, shows: readonly string[]): string[] {
  return shows.filter((name) => !photo.found.some((target) => target.name === name));
}
