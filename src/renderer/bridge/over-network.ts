/** Whether this page came over the local network: its host marks it so (main/hosts/network), and it only shows. */
export const overNetwork = (): boolean => document.documentElement.dataset.onlyShows === "yes";
