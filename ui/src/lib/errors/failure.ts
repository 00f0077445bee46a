import type { Failure, FailureCode } from "../backend/types";
import { t } from "../words/words.svelte";

const CODES: readonly FailureCode[] = [
  "bad-input",
  "not-measurable",
  "cancelled",
  "not-found",
  "storage",
  "internal",
];

function isFailure(thrown: unknown): thrown is Failure {
  if (typeof thrown !== "object" || thrown === null) return false;
  const candidate = thrown as Partial<Failure>;
  return (
    typeof candidate.message === "string" &&
    typeof candidate.hint === "string" &&
    CODES.includes(candidate.code as FailureCode)
  );
}

/** Turns whatever was thrown into the one shape that the screens show. */
export function toFailure(thrown: unknown): Failure {
  if (isFailure(thrown)) return thrown;
  const message = thrown instanceof Error ? thrown.message : typeof thrown === "string" ? thrown : t("failure.unknown");
  return { code: "internal", message, hint: t("failure.again") };
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
