// The page into dist/: one script, one sheet, one document.
import { build } from "esbuild";
import { copyFile, rm } from "node:fs/promises";

await rm("dist", { recursive: true, force: true });
await build({
  entryPoints: ["src/main.ts", "style.css"],
  outdir: "dist",
  entryNames: "[name]",
  bundle: true,
  minify: true,
  sourcemap: true,
  format: "esm",
  target: "es2023",
  logLevel: "warning",
});
await copyFile("index.html", "dist/index.html");
