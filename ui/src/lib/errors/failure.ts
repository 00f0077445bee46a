import type { Failure, FailureCode, Phrase } from "../backend/types";
import { CATALOGUE, type PlainKey } from "../words/catalogue";
import { filled } from "../words/text";
import { t } from "../words/words.svelte";

const CODES: readonly FailureCode[] = [
  "bad-input",
  "not-measurable",
  "cancelled",
  "not-found",
  "storage",
  "internal",
];

const isPhrase = (value: Phrase | undefined): boolean => typeof value === "string" || typeof value?.text === "string";

function isFailure(thrown: unknown): thrown is Failure {
  if (typeof thrown !== "object" || thrown === null) return false;
  const candidate = thrown as Partial<Failure>;
  return (
    isPhrase(candidate.message) &&
    isPhrase(candidate.hint) &&
    CODES.includes(candidate.code as FailureCode)
  );
}

/** A failure, and whether the page words it itself, in its own language; all others are English. */
export type ShownFailure = Failure & { own?: true };

/** A failure that the page words itself. */
export const ownFailure = (code: FailureCode, message: string, hint: string): ShownFailure => ({ code, message, hint, own: true });

/** What a failure is about, in the page's language, where its own words are English. */
export const FAILURE_HEADS: Record<FailureCode, PlainKey> = {
  "bad-input": "failure.bad-input",
  "not-measurable": "failure.not-measurable",
  cancelled: "failure.cancelled",
  "not-found": "failure.not-found",
  storage: "failure.storage",
  internal: "failure.internal",
};

/** Turns whatever was thrown into the one shape that the screens show. */
export function toFailure(thrown: unknown): ShownFailure {
  if (isFailure(thrown)) return thrown;
  // What is thrown inside the page is for its makers, and English.
  const message = thrown instanceof Error ? thrown.message : typeof thrown === "string" ? thrown : null;
  if (message !== null) return { code: "internal", message, hint: filled(CATALOGUE.en["failure.again"], {}, "en") };
  return ownFailure("internal", t("failure.unknown"), t("failure.again"));
}

/** A word that is written as it is: a file name such as `a.jpg`. */
const FILE_NAME = /^\S+\.\w+/;

/**
 * A sentence for the screen: capital first, full stop last. Messages come in lower case without a stop; one that starts
 * with a file's name keeps it as it is.
 */
export function sentence(text: string): string {
  const trimmed = text.trim();
  if (trimmed === "") return "";
  const capital = FILE_NAME.test(trimmed) ? trimmed : trimmed.charAt(0).toUpperCase() + trimmed.slice(1);
  return /[.!?…]$/.test(capital) ? capital : `${capital}.`;
}
