import { defineConfig } from "vite";

/** The service that the development server hands requests to; `autoplace serve` listens there unless told otherwise. */
const service = process.env["AUTOPLACE_SERVICE"] ?? "http://127.0.0.1:5317";

export default defineConfig({
  base: "./",
  build: {
    target: "es2022",
    // The page is served with "default-src 'self'": nothing may be put into it as a data: address.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    chunkSizeWarningLimit: 1200,
  },
  worker: { format: "es" },
  server: { proxy: { "/v1": service, "/health": service } },
});
