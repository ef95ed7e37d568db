// Lengths as the job's own units say them, and sizes.

export function lengthText(mm, units = "metric") {
  return units === "imperial" ? inches(mm) : metric(mm);
}

// To be edited: nothing of the value is lost.
export function exactText(mm, units = "metric") {
  const sixteenths = mm / 25.4 * 16;
  if (units === "imperial" && Math.abs(sixteenths - Math.round(sixteenths)) < 1e-6) return lengthText(mm, units);
  return mm >= 100 ? `${Number((mm / 10).toFixed(3))} cm` : `${Number(mm.toFixed(2))} mm`;
}

function metric(mm) {
  if (Math.abs(mm) >= 999.5) return `${(mm / 1000).toFixed(2)} m`;
  if (Math.abs(mm) >= 99.95) return `${trimmed(mm / 10)} cm`;
  return `${trimmed(mm)} mm`;
}

function trimmed(value) {
  return value.toFixed(1).replace(/\.0$/, "");
}

// As messages and sheets write them: to 1/16, what is less than half of that to 1/64.
function inches(mm) {
  let below = Math.abs(mm) > 25.4 / 32 ? 16 : 64;
  const count = Math.round(Math.abs(mm) / 25.4 * below), whole = Math.floor(count / below);
  let rest = count % below;
  while (rest && rest % 2 === 0) { rest /= 2; below /= 2; }
  return `${count && mm < 0 ? "-" : ""}${whole || !rest ? whole : ""}${whole && rest ? " " : ""}${rest ? `${rest}/${below}` : ""} in`;
}

export function percent(share) {
  return `${(100 * share).toFixed(1)} %`;
}

// The only size of what comes in no sizes: it is not told.
export const ONE_SIZE = "one size";

export const sizeText = (size) => (size === ONE_SIZE ? "Garments" : `Size ${size}`);
