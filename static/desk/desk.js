// Marks that scripts run, and wakes the parts of the page that need one. Without it every form still works.
import { wakeKeys } from "./keys.js";
import { wakeAdding } from "./add.js";
import { wakeCorners } from "./edge.js";
import { wakeFind } from "./find.js";
import { wakeNames } from "./names.js";
import { wakePair } from "./pair.js";
import { wakeTabs } from "./tabs.js";
import { wakeViews } from "./views.js";
import { wakeZoom } from "./zoom.js";

document.documentElement.classList.add("scripted");
wakeTabs();
wakeNames();
wakeKeys(document.querySelector("[data-keys]"));
wakeAdding(document.querySelector("#add"));
wakeCorners(document.querySelector("[data-corners]"));
wakeZoom(document.querySelector("[data-zoom]"));
wakeViews(document.querySelector("#views"));
wakeFind(document.querySelector("form.find"));
wakePair(document.querySelector("#pair-over"));
