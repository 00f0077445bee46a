import { fit, frame, pan, reveal, settle, toPhoto, zoomAt, type Place, type Size, type View } from "./view";

/** The view of one photo on one stage, moved by wheel, fingers and buttons. */
export class StageView {
  photo = $state.raw<Size>({ width: 1, height: 1 });
  stage = $state.raw<Size>({ width: 1, height: 1 });
  view = $state.raw<View>({ scale: 1, x: 0, y: 0 });
  /** How much closer than the whole photo. */
  closeness = $derived(this.view.scale / fit(this.photo, this.stage).scale);

  #fingers = new Map<number, Place>();

  /** Takes a new photo or stage size. A view that showed the whole photo goes on doing so. */
  resize(photo: Size, stage: Size): void {
    const whole = this.closeness < 1.01;
    const middle = toPhoto(this.view, [this.stage.width / 2, this.stage.height / 2]);
    const samePhoto = photo.width === this.photo.width && photo.height === this.photo.height;
    this.photo = photo;
    this.stage = stage;
    if (whole || !samePhoto) {
      this.view = fit(photo, stage);
      return;
    }
    const { scale } = this.view;
    this.view = settle(
      { scale, x: stage.width / 2 - middle[0] * scale, y: stage.height / 2 - middle[1] * scale },
      photo,
      stage,
    );
  }

  whole(): void {
    this.view = fit(this.photo, this.stage);
  }

  /** Shows some places with room around them. */
  frame(places: Place[], room: number): void {
    this.view = frame(places, room, this.photo, this.stage);
  }

  zoom(factor: number, at: Place = [this.stage.width / 2, this.stage.height / 2]): void {
    this.view = zoomAt(this.view, factor, at, this.photo, this.stage);
  }

  pan(by: Place): void {
    this.view = pan(this.view, by, this.photo, this.stage);
  }

  reveal(place: Place): void {
    this.view = reveal(this.view, place, this.photo, this.stage);
  }

  /** A finger or the mouse goes down at a place of the stage. */
  down(finger: number, at: Place): void {
    this.#fingers.set(finger, at);
  }

  /** It moves: one finger pans, two pinch. */
  move(finger: number, at: Place): void {
    const before = this.#fingers.get(finger);
    if (!before) return;
    const other = [...this.#fingers].find(([id]) => id !== finger)?.[1];
    this.#fingers.set(finger, at);
    if (!other) {
      this.pan([at[0] - before[0], at[1] - before[1]]);
      return;
    }
    const was = Math.hypot(before[0] - other[0], before[1] - other[1]);
    const is = Math.hypot(at[0] - other[0], at[1] - other[1]);
    const middle: Place = [(at[0] + other[0]) / 2, (at[1] + other[1]) / 2];
    if (was > 0) this.zoom(is / was, middle);
    this.pan([(at[0] - before[0]) / 2, (at[1] - before[1]) / 2]);
  }

  up(finger: number): void {
    this.#fingers.delete(finger);
  }

  /** How many fingers are down. */
  get fingers(): number {
    return this.#fingers.size;
  }
}
