import type { PhonesBackend } from "../phones";
import type { PhoneAtBench, PhoneLine, PhotoAdded } from "../types";

const AT = "2026-03-14T15:0";
const ADDRESS = "192.168.1.20";
const PHONE = "192.168.1.34";
/** Asked so often, the made-up phone is paired; so often, it has sent its photos. */
const PAIRED_AFTER = 4;
const SENT_AFTER = 6;

/** A picture that looks like a QR code and says nothing. */
const QR = Array.from({ length: 29 }, (_, y) => Array.from({ length: 29 }, (_, x) => ((x * 7 + y * 11 + ((x * y) % 5)) % 3 === 0 ? "1" : "0")).join(""));

/** A phone that pairs and sends photos after a while, with no network behind it. */
export function recordedPhones(photosOf: (check: string) => PhotoAdded[]): PhonesBackend {
  let check = "";
  let asked = 0;
  let log: PhoneLine[] = [];
  const note = (what: PhoneLine["what"], about: string): void => {
    log = [...log, { at: `${AT}${log.length % 10}:00+01:00`, what, about }];
  };
  return {
    async phoneAddresses() {
      return [ADDRESS, "10.0.0.5"];
    },
    async phoneStart(kind, address) {
      check = kind;
      asked = 0;
      note("started", `${address}:40123`);
      return {
        address: `https://${address}:40123/`,
        code: "48210937",
        fingerprint: Array.from({ length: 32 }, (_, at) => ((at * 37 + 11) % 256).toString(16).padStart(2, "0").toUpperCase()).join(":"),
        qr: QR,
      };
    },
    async phoneStanding() {
      asked += 1;
      if (asked === PAIRED_AFTER) note("paired", PHONE);
      const arrived = asked === SENT_AFTER ? photosOf(check) : [];
      for (const photo of arrived) note("kept", photo.id);
      const told: PhoneAtBench = { open: true, arrived, wished: false, log, ...(asked >= PAIRED_AFTER ? { paired: PHONE } : {}) };
      return JSON.parse(JSON.stringify(told)) as PhoneAtBench;
    },
    async phoneTell() {},
    async phoneStop() {
      note("ended", "");
      return { open: false, arrived: [], wished: false, log };
    },
    async photoBytes() {
      return new ArrayBuffer(8);
    },
  };
}
