import "@fontsource-variable/instrument-sans/wght.css";
import "./app.css";
import { mount } from "svelte";
import App from "./App.svelte";
import { openBackend } from "./lib/backend";
import { comfort } from "./lib/comfort/comfort.svelte";
import { words } from "./lib/words/words.svelte";

async function start(): Promise<void> {
  words.begin();
  comfort.begin();
  await openBackend();
  const target = document.getElementById("app");
  if (!target) throw new Error("the page has no place for the program");
  mount(App, { target });
}

void start();
