// When and where a photo was taken, as fields of its event, where the firm asks for them
// (LASTBOLT_PHOTO_PLACE). The photo itself goes without what its camera noted.

const PATIENCE = 8_000; // ms for a position
const ASKED = 20_000; // ms at most, with the time in which a person is asked for leave
const HOW = { enableHighAccuracy: true, timeout: PATIENCE, maximumAge: 60_000 };

/** {taken, spot} of a photo file: a time, a geo URI (RFC 5870); no spot in a cellar or without leave. */
export async function takenAt(file) {
  if (document.body.dataset.placed === undefined) return {};
  const fields = { taken: new Date(file.lastModified).toISOString() };
  const found = await new Promise((done) => {
    if (!navigator.geolocation) return done();
    setTimeout(done, ASKED);
    navigator.geolocation.getCurrentPosition(({ coords }) => done(coords), () => done(), HOW);
  });
  if (!found) return fields;
  const [latitude, longitude] = [found.latitude, found.longitude].map((degrees) => degrees.toFixed(6));
  return { ...fields, spot: `geo:${latitude},${longitude};u=${Math.ceil(found.accuracy)}` };
}
