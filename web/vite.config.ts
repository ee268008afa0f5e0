// One bundle, its assets as files of their own: the Content-Security-Policy allows nothing inline.
import { defineConfig } from "vite";

export default defineConfig({
  esbuild: { jsx: "automatic", jsxImportSource: "preact" },
  build: {
    target: "es2022",
    assetsInlineLimit: 0,
    modulePreload: false,
    cssCodeSplit: false,
    // Names without a hash in the middle of a word: the server embeds whatever lies in `dist`.
    // Two pages: the desk's, and another device's, whose server hands out nothing called `desk-`.
    rollupOptions: {
      input: { desk: "index.html", guest: "guest.html" },
      output: { entryFileNames: "assets/[name]-[hash].js", // Parts of the desk that are fetched when they are opened are the desk's own too.
        chunkFileNames: ({ isDynamicEntry }) => (isDynamicEntry ? "assets/desk-part-[name]-[hash].js" : "assets/both-[hash].js"), assetFileNames: "assets/[name]-[hash][extname]" },
    },
  },
  server: { proxy: Object.fromEntries(["/api", "/picture", "/events"].map((path) => [path, "http://127.0.0.1:4870"])) },
});
