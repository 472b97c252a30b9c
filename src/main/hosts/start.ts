/** `npm start`, in a clone. All else is imported once Node keeps what it compiles: the next start then takes less than half the time. */
import { keepCompiled } from "../disk/keep-compiled.ts";

keepCompiled();
await import("./start-in-clone.ts");
