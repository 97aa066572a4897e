// The heat clock as a page runs it between two answers of the server: the same rules as the timing engine.
// All times are the server's, in milliseconds; `offset` is how far the server's clock is ahead of this one.

export class HeatClock {
  constructor(facts, nowMs) {
    this.offset = nowMs - Date.now();
    this.best = Infinity;
    this.facts = facts;
  }

  // The quickest answer tells the time best: it lost the least on its way.
  learn(nowMs, sentAt, receivedAt) {
    const trip = receivedAt - sentAt;
    if (trip > this.best + 20) return;
    this.best = trip;
    this.offset = nowMs - (sentAt + trip / 2);
  }

  now() {
    return Date.now() + this.offset;
  }

  elapsed(now) {
    const { green_at_ms: green, run_ms: run, length_ms: length } = this.facts;
    return green === null ? run : Math.min(length, run + Math.max(0, now - green));
  }

  left(now) {
    return this.facts.is_timed_elsewhere ? 0 : this.facts.length_ms - this.elapsed(now);
  }

  phase(now) {
    const { green_at_ms: green, phase } = this.facts;
    if (green === null) return phase;
    if (now < green) return "countdown";
    return this.left(now) > 0 ? "running" : "ended";
  }

  isWarning(now) {
    return this.phase(now) === "running" && this.left(now) <= this.facts.warning_ms;
  }

  untilGreen(now) {
    return this.facts.green_at_ms === null ? 0 : this.facts.green_at_ms - now;
  }

  // How long the track call that holds the clock has held it.
  held(now) {
    const last = this.facts.calls.at(-1);
    return last ? Math.max(0, (last.until_ms ?? now) - last.at_ms) : 0;
  }

  endedAt() {
    const { ended_at_ms: ended, green_at_ms: green, run_ms: run, length_ms: length } = this.facts;
    return ended ?? (green === null ? null : green + length - run);
  }

  changeoverLeft(now) {
    const until = this.facts.changeover_until_ms;
    return until ? until - now : 0;
  }
}

// 1:42 — a second counts until it is over, so a clock reaches 0:00 only at the end.
export function face(ms) {
  const seconds = Math.ceil(Math.max(0, ms) / 1000);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

// 1:42.6
export function fineFace(ms) {
  const tenths = Math.ceil(Math.max(0, ms) / 100);
  const minutes = Math.floor(tenths / 600);
  return `${minutes}:${String(Math.floor(tenths / 10) % 60).padStart(2, "0")}.${tenths % 10}`;
}

// Asks the feed every `every` ms; `onNews` gets the parts when the version changed, `onTrouble` whether it answers.
export function follow(url, clock, version, { every = 1000, onNews, onTrouble }) {
  const state = { version };
  async function ask() {
    const sentAt = Date.now();
    try {
      const response = await fetch(url, {
        headers: { "If-None-Match": `"${state.version}"`, Accept: "application/json" },
        cache: "no-store",
      });
      if (response.redirected) {
        window.location.reload();
        return;
      }
      const nowMs = Number(response.headers.get("Heat-Now-Ms"));
      if (nowMs) clock.learn(nowMs, sentAt, Date.now());
      if (response.status === 200) {
        const news = await response.json();
        if (news.version !== state.version) {
          state.version = news.version;
          onNews(news);
        }
      }
      onTrouble(response.status !== 200 && response.status !== 304);
    } catch {
      onTrouble(true);
    }
    setTimeout(ask, document.hidden ? 2 * every : every);
  }
  setTimeout(ask, every);
  return state;
}
