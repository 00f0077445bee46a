import { hashOf, parseHash, type Route } from "./route";

let route = $state<Route>(parseHash(location.hash));

addEventListener("hashchange", () => {
  route = parseHash(location.hash);
  scrollTo(0, 0);
});

/** The screen being shown. */
export const current = {
  get route(): Route {
    return route;
  },
};

/** Goes to a screen; the way back stays in the web view's history. */
export function go(to: Route): void {
  location.hash = hashOf(to);
}
