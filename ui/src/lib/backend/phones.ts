import type { CheckKind, PhoneAtBench, PhoneInvitation, PhoneTold, PhotoAdded } from "./types";

/** What the page may ask about a phone that takes the photos of a check. */
export interface PhonesBackend {
  /** This computer's addresses on its local networks, the likeliest first. */
  phoneAddresses(): Promise<string[]>;
  /** Lets a phone in for one check; one that was let in before is shut out. */
  phoneStart(check: CheckKind, address: string): Promise<PhoneInvitation>;
  /** Where the server stands; `photos` are those that the check has by now. What arrived since is told once. */
  phoneStanding(photos: PhotoAdded[]): Promise<PhoneAtBench>;
  /** What the phone is told of the check from now on. */
  phoneTell(told: PhoneTold): Promise<void>;
  /** Shuts the phone out; gives the last that is to be told of it, and nothing when none was let in. */
  phoneStop(photos: PhotoAdded[]): Promise<PhoneAtBench | null>;
  /** The unchanged bytes of a photo. */
  photoBytes(id: string): Promise<ArrayBuffer>;
}
