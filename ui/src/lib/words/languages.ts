/** The languages that the page's own texts exist in. */
export const LANGUAGES = ["en", "de", "fr"] as const;
export type Language = (typeof LANGUAGES)[number];

/** What can be chosen: a language, or whatever the system speaks. */
export const CHOICES = ["system", ...LANGUAGES] as const;
export type LanguageChoice = (typeof CHOICES)[number];

/** Each language by its own name, for whoever cannot read the one that is shown. */
export const OWN_NAMES: Record<Language, string> = { en: "English", de: "Deutsch", fr: "Français" };

/** How dates, numbers and plurals of a language are written. */
export const LOCALES: Record<Language, string> = { en: "en-GB", de: "de-DE", fr: "fr-FR" };

/** Reads what was kept; anything unknown gives the system's. */
export function readChoice(kept: string | null): LanguageChoice {
  return CHOICES.find((choice) => choice === kept) ?? "system";
}

/** The language of a choice. `asked` are the system's, best first (BCP 47); English where none of them is here. */
export function languageOf(choice: LanguageChoice, asked: readonly string[]): Language {
  if (choice !== "system") return choice;
  for (const tag of asked) {
    const known = LANGUAGES.find((language) => language === tag.toLowerCase().split(/[-_]/)[0]);
    if (known) return known;
  }
  return "en";
}
