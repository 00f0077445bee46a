import { backend, type CheckKind } from "../../lib/backend";
import type { PhotoCheck } from "../capture/check.svelte";
import { missingTargets } from "../capture/photos";
import type { Frame, LiveLink } from "./link";

/** A check in this program as the camera's other end. */
export function linkOf(check: PhotoCheck): LiveLink {
  const kind: CheckKind = check.plan.kind;
  return {
    look: ({ width, height, photoWidth, grey }: Frame) =>
      backend().look({ check: kind, width, height, photo_width: photoWidth, photo_ids: check.photos.map((photo) => photo.added.id) }, grey),
    async keep(photo, byItself) {
      const before = check.photos.length;
      await check.addFiles([photo]);
      const taken = check.photos[before]?.added;
      if (!taken) return false;
      if (!byItself || missingTargets(taken, check.plan.shows).length === 0) return true;
      await check.removePhoto(taken.id);
      return false;
    },
  };
}
