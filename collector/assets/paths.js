// Addresses of the other pages. `station` is where the way back leads.

const query = (facts) =>
  Object.entries(facts)
    .filter(([, said]) => said)
    .map(([name, said]) => `${name}=${encodeURIComponent(said)}`)
    .join('&');

/** What a study found. */
export function studyPath(study, station) {
  return `/findings.html?${query({ study, station })}`;
}

/** How steady the feature of a job is, and whether it keeps its limits. */
export function statisticsPath({ job, feature }, station) {
  return `/findings.html?${query({ job, feature, station })}`;
}

/** Where the last pieces of a feature lead. */
export function outlookPath({ job, feature }) {
  return `/api/outlook?${query({ job, feature })}`;
}

/** Readings found by these words. */
export function findPath(words) {
  return `/find.html?${query(words)}`;
}

/** The inspection report of a job, made to be printed. */
export function reportPath(job, piece) {
  return `/report?${query({ job, piece })}`;
}
