// Lengths as the job's own units say them.

export function lengthText(mm, units = "metric") {
  return units === "imperial" ? `${eighths(mm / 25.4)} in` : metric(mm);
}

// To be edited: nothing of the value is lost.
export function exactText(mm, units = "metric") {
  const inches = mm / 25.4;
  if (units === "imperial" && Math.abs(inches * 8 - Math.round(inches * 8)) < 1e-6) return lengthText(mm, units);
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

function eighths(inches) {
  const count = Math.round(inches * 8);
  const whole = Math.trunc(count / 8);
  let rest = Math.abs(count % 8), below = 8;
  while (rest && rest % 2 === 0) { rest /= 2; below /= 2; }
  return rest ? `${whole || ""} ${rest}/${below}`.trim() : `${whole}`;
}

export function percent(share) {
  return `${(100 * share).toFixed(1)} %`;
}
