// Keeps the pages of this person's jobs for the hours without signal: from a job's page on, every
// page of it that a link leads to. A page is kept only where all files that it names are kept too.

const OURS = /(?:href|src)="(\/static\/[^"?#]+)"/g;
const LOOSE = { ignoreVary: true, ignoreSearch: true };

/** Keep the pages of these jobs (codes), drop those of others; resolves to {pages, bytes, later}:
 *  later says that a new release must be taken first. Throws where there is no signal, and when
 *  `signal` is aborted. */
export async function keep(person, codes, signal) {
  const cache = await caches.open(`pages ${person}`);
  const wanted = ["/my/", ...codes.map((code) => `/my/${code}/`)];
  const found = { pages: 0, bytes: 0, later: false };
  for (const address of wanted) {
    const reply = await fetch(address, { cache: "no-store", signal });
    if (reply.redirected) throw new Error("signed out");
    if (!reply.ok) continue;
    const text = await reply.clone().text();
    if (!text.includes(`data-person="${person}"`)) throw new Error("somebody else");
    if (!(await isWhole(text))) {
      found.later = true;
      continue;
    }
    await cache.put(address, reply);
    found.pages += 1;
    found.bytes += text.length;
    for (const link of linksOf(text, codes)) if (!wanted.includes(link)) wanted.push(link);
  }
  for (const { url } of await cache.keys()) {
    if (!wanted.includes(new URL(url).pathname)) await cache.delete(url);
  }
  return found;
}

async function isWhole(text) {
  const files = [...text.matchAll(OURS)].map(([, address]) => caches.match(address, LOOSE));
  return (await Promise.all(files)).every(Boolean);
}

/** Links of a page that lead on within these jobs. */
function linksOf(text, codes) {
  const page = new DOMParser().parseFromString(text, "text/html");
  const paths = [...page.querySelectorAll("a[href]")].map((link) => new URL(link.getAttribute("href"), location.origin).pathname);
  return paths.filter((path) => codes.some((code) => path.startsWith(`/my/${code}/`)));
}
