// The page of a job tells by itself how far it is, and leads on when it is done. Without this its link does the same.
const EVERY_MS = 1000;

async function look() {
  const place = document.getElementById('how-far');
  try {
    const answer = await fetch(location.href, { redirect: 'manual' });
    // Whatever is not this page while the work goes on is shown by the browser: the result, or what went wrong.
    if (!answer.ok) {
      if (answer.type === 'opaqueredirect' || answer.status < 500) location.reload();
      else setTimeout(look, EVERY_MS);
      return;
    }
    const now = new DOMParser().parseFromString(await answer.text(), 'text/html').getElementById('how-far');
    if (!now?.hasAttribute('data-open')) {
      location.reload();
      return;
    }
    if (now.innerHTML !== place.innerHTML) place.replaceChildren(...now.childNodes);
  } catch {
    // The service does not answer just now: the work goes on, and so does the look at it.
  }
  setTimeout(look, EVERY_MS);
}

setTimeout(look, EVERY_MS);
