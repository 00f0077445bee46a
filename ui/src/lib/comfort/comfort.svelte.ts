/** How the page looks; `device` follows the device's own setting. */
export const THEMES = ["device", "light", "dark", "sunlight"] as const;
export type Theme = (typeof THEMES)[number];

/** Size of the text against the usual one, percent. */
export const TEXT_SIZES = [100, 125, 150, 200] as const;
export type TextSize = (typeof TEXT_SIZES)[number];

/** The hand that holds the phone: what is pressed most lies under its thumb. */
export const HANDS = ["right", "left"] as const;
export type Hand = (typeof HANDS)[number];

interface Comfort {
  theme: Theme;
  text: TextSize;
  hand: Hand;
}

const KEY = "comfort";

/** Reads what was kept; anything unknown gives the usual. */
export function readComfort(text: string | null): Comfort {
  let kept: Partial<Record<keyof Comfort, unknown>> = {};
  try {
    kept = (JSON.parse(text ?? "{}") as typeof kept | null) ?? {};
  } catch {
    // What cannot be read was not written by this page.
  }
  return {
    theme: THEMES.find((theme) => theme === kept.theme) ?? "device",
    text: TEXT_SIZES.find((size) => size === kept.text) ?? 100,
    hand: HANDS.find((hand) => hand === kept.hand) ?? "right",
  };
}

function remembered(): string | null {
  try {
    return localStorage.getItem(KEY);
  } catch {
    // Storage can be switched off; the choice then lasts until the program ends.
    return null;
  }
}

/** What makes the page comfortable; a change is seen at once and kept. */
class Comforts {
  theme = $state<Theme>("device");
  text = $state<TextSize>(100);
  hand = $state<Hand>("right");

  /** Takes up what was kept, and follows the device from now on. */
  begin(): void {
    Object.assign(this, readComfort(remembered()));
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.show());
    this.show();
  }

  keep(): void {
    this.show();
    try {
      localStorage.setItem(KEY, JSON.stringify({ theme: this.theme, text: this.text, hand: this.hand }));
    } catch {
      // See `remembered`.
    }
  }

  private show(): void {
    const dark = matchMedia("(prefers-color-scheme: dark)").matches;
    const page = document.documentElement;
    page.dataset["theme"] = this.theme === "device" ? (dark ? "dark" : "light") : this.theme;
    page.dataset["hand"] = this.hand;
    page.style.setProperty("--text-size", String(this.text / 100));
  }
}

export const comfort = new Comforts();
