import type { Frame, LiveLink, TakenPhoto } from "../features/live/link";
import type { Failure, Look, PhoneKept, PhoneStanding } from "../lib/backend";
import { ownFailure, toFailure, type ShownFailure } from "../lib/errors/failure";
import { t } from "../lib/words/words.svelte";

/** Bytes of a photo that are sent at once: what is lost with a connection is sent again. */
export const PIECE = 256 * 1024;
/** Each loss halves a piece down to this, each piece that arrives doubles it again: a poor connection carries small ones. */
const LEAST_PIECE = 16 * 1024;
/** Waits after a lost connection, one after the other, ms. */
const PAUSES_MS = [100, 300, 1000, 2000, 4000, 8000, 8000, 8000] as const;
/** How often the bench is asked about a photo that it looks at, ms. */
const CHECKING_MS = 300;

/** Where a photo stands at the bench. */
type Place =
  | { is: "coming"; have: number }
  | { is: "checking" }
  | { is: "kept"; said: PhoneKept }
  | { is: "refused"; failure: Failure };

/** A photo on its way. */
export interface Sending {
  name: string;
  sent: number;
  bytes: number;
  /** Whether the connection is lost and tried anew. */
  lost: boolean;
}

/** What this page asks the bench by. */
export type Send = (path: string, request: RequestInit) => Promise<Response>;

/** The connection was lost, or the bench asks to wait: the same may be asked again. */
class Again extends Error {}

const silent = (): ShownFailure => ownFailure("internal", t("phone.silent"), t("phone.silent-hint"));

const wait = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

const hex = (bytes: ArrayBuffer): string => Array.from(new Uint8Array(bytes), (byte) => byte.toString(16).padStart(2, "0")).join("");

/** The bench at the other end of the network, for one check. */
export class Bench implements LiveLink {
  readonly #token: string;
  readonly #send: Send;
  readonly #wait: (ms: number) => Promise<void>;
  /** Hears how a photo gets on. */
  onSending: (sending: Sending | null) => void = () => {};
  /** Ends with the last photo that was handed in. */
  #last: Promise<unknown> = Promise.resolve();

  constructor(token: string, send: Send = (path, request) => fetch(path, request), pause = wait) {
    this.#token = token;
    this.#send = send;
    this.#wait = pause;
  }

  /** Exchanges the code that the bench shows for a token. */
  static async pair(code: string, send: Send = (path, request) => fetch(path, request)): Promise<string> {
    const response = await send("/api/pair", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ code }) });
    const said: unknown = await response.json();
    if (!response.ok) throw toFailure(said);
    return (said as { token: string }).token;
  }

  /** Whether the bench still takes this token; one that does not answer has not refused it. */
  static async takes(token: string, send: Send = (path, request) => fetch(path, request)): Promise<boolean> {
    try {
      return (await send("/api/standing", { method: "GET", headers: { authorization: `Bearer ${token}` } })).status !== 401;
    } catch {
      return true;
    }
  }

  /** The fingerprint of the certificate, as the bench itself states it; nothing when it does not answer. */
  static async fingerprint(send: Send = (path, request) => fetch(path, request)): Promise<string> {
    try {
      const response = await send("/api/certificate", { method: "GET" });
      return response.ok ? ((await response.json()) as { fingerprint: string }).fingerprint : "";
    } catch {
      return "";
    }
  }

  standing(): Promise<PhoneStanding> {
    return this.#once("GET", "standing");
  }

  async measure(): Promise<void> {
    await this.#once("POST", "measure");
  }

  /** Asks once: what was lost is told, and may be asked again by whoever asked. */
  async #once<T>(method: string, what: string): Promise<T> {
    try {
      return await this.#ask<T>(method, what);
    } catch (thrown) {
      throw thrown instanceof Again ? silent() : thrown;
    }
  }

  async look({ width, height, photoWidth, grey }: Frame): Promise<Look> {
    const size = new URLSearchParams(Object.entries({ width, height, photo_width: photoWidth }).map(([name, value]) => [name, String(value)]));
    for (let lost = 0; ; lost += 1) {
      try {
        return await this.#ask("POST", "look?" + size.toString(), grey);
      } catch (thrown) {
        await this.#pause(thrown, lost);
      }
    }
  }

  /** Photos go one after the other: the bench takes one at a time, and two would push each other out. */
  keep(photo: TakenPhoto, byItself: boolean): Promise<boolean> {
    const kept = this.#last.then(() => this.#deliver(photo, byItself));
    // Whoever handed it in hears of its failure; the next goes all the same.
    this.#last = kept.catch(() => {});
    return kept;
  }

  async #deliver(photo: TakenPhoto, byItself: boolean): Promise<boolean> {
    const bytes = new Uint8Array(await photo.arrayBuffer());
    const sha256 = hex(await crypto.subtle.digest("SHA-256", bytes));
    const announced = { sha256, bytes: bytes.length, name: photo.name, by_itself: byItself };
    const tell = (sent: number, lost: boolean): void => this.onSending({ name: photo.name, sent, bytes: bytes.length, lost });
    let sent = 0;
    let lost = 0;
    let piece = PIECE;
    try {
      for (;;) {
        try {
          let place = await this.#ask<Place>("POST", "photos", JSON.stringify(announced));
          while (place.is === "coming") {
            // A connection that carries pieces between its losses is not given up.
            if (place.have > sent) {
              lost = 0;
              piece = Math.min(PIECE, 2 * piece);
            }
            sent = place.have;
            tell(sent, false);
            place = await this.#ask<Place>("PUT", `photos/${sha256}?at=${sent}`, bytes.subarray(sent, sent + piece));
          }
          if (place.is === "kept") return place.said.kept;
          if (place.is === "refused") throw toFailure(place.failure);
          await this.#wait(CHECKING_MS);
        } catch (thrown) {
          tell(sent, true);
          await this.#pause(thrown, lost);
          lost += 1;
          piece = Math.max(LEAST_PIECE, piece / 2);
        }
      }
    } finally {
      this.onSending(null);
    }
  }

  /** Waits before the same is asked again; throws what asking again does not mend. */
  async #pause(thrown: unknown, lost: number): Promise<void> {
    const pause = PAUSES_MS[lost];
    if (!(thrown instanceof Again)) throw thrown;
    if (pause === undefined) {
      throw silent();
    }
    await this.#wait(pause);
  }

  async #ask<T>(method: string, what: string, body?: string | Uint8Array<ArrayBuffer>): Promise<T> {
    const kind = typeof body === "string" ? "application/json" : "application/octet-stream";
    const headers = { authorization: `Bearer ${this.#token}`, ...(body === undefined ? {} : { "content-type": kind }) };
    let response: Response;
    let said: unknown;
    try {
      response = await this.#send(`/api/${what}`, { method, headers, ...(body === undefined ? {} : { body }) });
      said = await response.json();
    } catch {
      throw new Again();
    }
    // 409: the piece begins elsewhere, and the answer says where. 404 and 422 of a piece: it is to be announced anew.
    const ofPiece = method === "PUT";
    if (response.ok || (ofPiece && response.status === 409)) return said as T;
    if (response.status === 429 || response.status === 408 || (ofPiece && (response.status === 404 || response.status === 422))) throw new Again();
    throw toFailure(said);
  }
}
