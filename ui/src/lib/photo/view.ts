/** A place: in photo pixels or in stage pixels, as the name around it says. */
export type Place = [number, number];

/** A size in pixels. */
export interface Size {
  width: number;
  height: number;
}

/**
 * How a photo lies on its stage: stage = scale x photo + offset.
 *
 * Photo pixel (0,0) is the centre of the top-left pixel, so the picture's corner is at (-0.5, -0.5).
 */
export interface View {
  scale: number;
  x: number;
  y: number;
}

/** How far in one may go: stage pixels for one photo pixel. */
export const MOST_SCALE = 6;

/** The whole photo, as large as the stage allows, in its middle. */
export function fit(photo: Size, stage: Size): View {
  const scale = Math.min(stage.width / photo.width, stage.height / photo.height);
  return {
    scale,
    x: centred(scale, photo.width, stage.width),
    y: centred(scale, photo.height, stage.height),
  };
}

/** From photo pixels to stage pixels. */
export function toStage(view: View, place: Place): Place {
  return [view.scale * place[0] + view.x, view.scale * place[1] + view.y];
}

/** From stage pixels to photo pixels. */
export function toPhoto(view: View, place: Place): Place {
  return [(place[0] - view.x) / view.scale, (place[1] - view.y) / view.scale];
}

/** Keeps a place inside the picture. */
export function insidePhoto(photo: Size, place: Place): Place {
  return [
    Math.min(photo.width - 1, Math.max(0, place[0])),
    Math.min(photo.height - 1, Math.max(0, place[1])),
  ];
}

/** Keeps the photo on the stage: never smaller than a fit, never pulled off an edge. */
export function settle(view: View, photo: Size, stage: Size): View {
  const least = fit(photo, stage).scale;
  const scale = Math.min(Math.max(view.scale, least), Math.max(MOST_SCALE, least));
  return { scale, x: settleAxis(view.x, scale, photo.width, stage.width), y: settleAxis(view.y, scale, photo.height, stage.height) };
}

/** The offset that puts one axis of the photo in the middle of the stage. */
function centred(scale: number, photo: number, stage: number): number {
  return (stage - photo * scale) / 2 + scale / 2;
}

function settleAxis(offset: number, scale: number, photo: number, stage: number): number {
  const half = scale / 2;
  const length = photo * scale;
  if (length <= stage) return centred(scale, photo, stage);
  return Math.min(half, Math.max(stage - length + half, offset));
}

/** Makes the view `factor` times larger around a place on the stage that stays where it is. */
export function zoomAt(view: View, factor: number, at: Place, photo: Size, stage: Size): View {
  const least = fit(photo, stage).scale;
  const scale = Math.min(Math.max(view.scale * factor, least), Math.max(MOST_SCALE, least));
  const applied = scale / view.scale;
  return settle(
    { scale, x: at[0] - (at[0] - view.x) * applied, y: at[1] - (at[1] - view.y) * applied },
    photo,
    stage,
  );
}

/** Moves the photo under the stage. */
export function pan(view: View, by: Place, photo: Size, stage: Size): View {
  return settle({ scale: view.scale, x: view.x + by[0], y: view.y + by[1] }, photo, stage);
}

/** Brings a place of the photo into the stage, with a margin, and leaves the view alone when it is there already. */
export function reveal(view: View, place: Place, photo: Size, stage: Size, margin = 48): View {
  const [x, y] = toStage(view, place);
  const by: Place = [push(x, stage.width, margin), push(y, stage.height, margin)];
  return by[0] === 0 && by[1] === 0 ? view : pan(view, by, photo, stage);
}

function push(at: number, length: number, margin: number): number {
  if (at < margin) return margin - at;
  if (at > length - margin) return length - margin - at;
  return 0;
}

/** The view that shows some places with room around them: `room` is a share of their extent, on every side. */
export function frame(places: Place[], room: number, photo: Size, stage: Size): View {
  const whole = fit(photo, stage);
  if (places.length === 0) return whole;
  const [left, right] = extent(places.map((place) => place[0]));
  const [top, bottom] = extent(places.map((place) => place[1]));
  const around = room * Math.max(right - left, bottom - top);
  const scale = Math.min(stage.width / (right - left + 2 * around), stage.height / (bottom - top + 2 * around), MOST_SCALE);
  const middle: Place = [(left + right) / 2, (top + bottom) / 2];
  return settle({ scale, x: stage.width / 2 - middle[0] * scale, y: stage.height / 2 - middle[1] * scale }, photo, stage);
}

function extent(values: number[]): [number, number] {
  return [Math.min(...values), Math.max(...values)];
}
