import "@fontsource-variable/instrument-sans/wght.css";
import "../app.css";
import { mount } from "svelte";
import { comfort } from "../lib/comfort/comfort.svelte";
import { words } from "../lib/words/words.svelte";
import PhoneApp from "./PhoneApp.svelte";

words.begin();
comfort.begin();
const target = document.getElementById("app");
if (!target) throw new Error("the page has no place for the program");
mount(PhoneApp, { target });
