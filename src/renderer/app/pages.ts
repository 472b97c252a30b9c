/** All pages, in the order of their names and of Ctrl with a digit. */
import type { Frame, Page } from "../screen/page.ts";
import { createBeforePage } from "../pages/before/before-page.ts";
import { createCarPage } from "../pages/car/car-page.ts";
import { createComparePage } from "../pages/compare/compare-page.ts";
import { createDrivePage } from "../pages/drive/drive-page.ts";
import { createLostPage } from "../pages/lost/lost-page.ts";
import { createPlanPage } from "../pages/plan/plan-page.ts";
import { createReportPage } from "../pages/report/report-page.ts";
import { createRunsPage } from "../pages/runs/runs-page.ts";
import { createWiringPage } from "../pages/wiring/wiring-page.ts";

export const createPages = (frame: Frame): readonly Page[] => [
  createCarPage(frame),
  createWiringPage(frame),
  createBeforePage(frame),
  createDrivePage(frame),
  createRunsPage(frame),
  createComparePage(frame),
  createLostPage(frame),
  createPlanPage(frame),
  createReportPage(frame),
];
