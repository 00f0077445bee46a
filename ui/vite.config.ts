import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vitest/config";

// Mode `recorded` builds the same page with recorded answers in place of the window's commands, for tests and pictures.
export default defineConfig({
  plugins: [svelte()],
  base: "./",
  build: {
    target: "es2022",
    // A data: URL would need a hole in the content security policy.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    emptyOutDir: true,
  },
  server: { host: "127.0.0.1", port: 5273, strictPort: true },
  test: {
    include: ["src/**/*.test.ts"],
    environment: "node",
    // Two at a time: of two cores vitest itself would leave one to the others.
    pool: "threads",
    maxWorkers: 2,
    // None takes a second on an idle machine; a busy one is no failure.
    testTimeout: 30_000,
  },
});
