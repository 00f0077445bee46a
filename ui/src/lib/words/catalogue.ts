import de from "./de.json";
import en from "./en.json";
import fr from "./fr.json";
import type { Language } from "./languages";
import type { Places } from "./places";
import type { Text } from "./text";

/** The name of a text. */
export type Key = keyof typeof en;

/** A text that stands alone, without places for values. */
export type PlainKey = Exclude<Key, keyof Places>;

/** What a text wants beside its key. */
export type Wanted<K extends Key> = K extends keyof Places ? [values: { readonly [name in Places[K]]: string | number }] : [];

/** Every text in every language; the compiler refuses a language in which one is missing. */
export const CATALOGUE: Record<Language, Record<Key, Text>> = { en, de, fr };
