import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vite";

// The page that a phone opens from the bench: its own small build, taken into the programs by `crates/phone-page`.
export default defineConfig({
  plugins: [svelte()],
  base: "./",
  build: {
    target: "es2022",
    outDir: "dist-phone",
    rollupOptions: { input: "phone.html" },
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    emptyOutDir: true,
  },
});
