/** Whether this screen is as narrow as a phone: there it only shows, and what needs the laptop says so. */
export const phone = (): boolean => window.matchMedia("(max-width: 700px)").matches;
