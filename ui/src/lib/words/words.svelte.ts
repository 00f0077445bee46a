import { CATALOGUE, type Key, type Wanted } from "./catalogue";
import { languageOf, LOCALES, readChoice, type Language, type LanguageChoice } from "./languages";
import { filled, marked, numberText } from "./text";

const KEY = "language";

function remembered(): string | null {
  try {
    return localStorage.getItem(KEY);
  } catch {
    // Storage can be switched off; the choice then lasts until the program ends.
    return null;
  }
}

/** The language of the page; a change is seen at once and kept. */
class Words {
  #choice = $state<LanguageChoice>("system");
  /** English until the page begins, so that nothing hangs on the machine that tests run on. */
  #now = $state<Language>("en");

  /** Takes up what was kept, and follows the system from now on. */
  begin(): void {
    this.#choice = readChoice(remembered());
    addEventListener("languagechange", () => this.#show());
    this.#show();
  }

  get choice(): LanguageChoice {
    return this.#choice;
  }

  set choice(choice: LanguageChoice) {
    this.#choice = choice;
    this.#show();
    try {
      localStorage.setItem(KEY, choice);
    } catch {
      // See `remembered`.
    }
  }

  /** The language that is shown. */
  get now(): Language {
    return this.#now;
  }

  /** For dates. */
  get locale(): string {
    return LOCALES[this.#now];
  }

  #show(): void {
    if (typeof document === "undefined") return;
    this.#now = languageOf(this.#choice, navigator.languages);
    document.documentElement.lang = this.#now;
  }

  /** Shows a language without keeping it: for tests, which have neither storage nor page. */
  speak(language: Language): void {
    this.#now = language;
  }
}

export const words = new Words();

/** A text of the page in the language that is shown, with its values in their places. */
export function t<K extends Key>(key: K, ...[values]: Wanted<K>): string {
  return filled(CATALOGUE[words.now][key], values ?? {}, words.now);
}

/** A number with all its digits, in the language that is shown. */
export const numeral = (value: number): string => numberText(value, words.now);

/** Digits with a decimal point, with the mark of the language that is shown. */
export const inDigits = (digits: string): string => marked(digits, words.now);

/** Several things in a sentence: `card and ring`. */
export const listed = (things: readonly string[]): string => new Intl.ListFormat(words.locale, { type: "conjunction" }).format(things);
