/** Starts the screens: fonts, styles, the connection to the core, the frame. Where a font fails to load, the system's own is used. */
import "@fontsource/ibm-plex-sans/latin-500.css";
import "@fontsource/ibm-plex-sans/latin-600.css";
import "@fontsource/ibm-plex-sans/latin-700.css";
import "./style/tokens.css";
import "./style/components.css";
import "./style/work.css";
import "./style/handbook.css";
import "./style/frame.css";
import "./style/drive.css";
import "./style/drive-labels.css";
import "./style/drive-screens.css";
import "./style/run-aside.css";
import "./style/runs.css";
import "./style/before.css";
import "./style/wiring.css";
import "./style/car.css";
import "./style/judge.css";
import "./style/lost.css";
import "./style/plan.css";
import "./style/only-shows.css";
import { startApp } from "./app/app.ts";
import { openBridge, sayShown } from "./bridge/open-bridge.ts";

// Canvases draw text too, so the fonts must be loaded before the first drawing.
await Promise.allSettled(["500 20px", "600 20px", "700 20px"].map((face) => document.fonts.load(`${face} "IBM Plex Sans"`)));
const started = startApp(openBridge());
sayShown();
await started;
