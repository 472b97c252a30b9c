/** "surface=wet; day>=2031-05-04" as terms. */
export const termsOf = (text: string): string[] =>
  text
    .split(";")
    .map((term) => term.trim())
    .filter((term) => term !== "");
