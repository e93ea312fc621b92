// Times as they are written into the journal, and a watch on the clock of the device.

/// A time with its offset from UTC, to the millisecond: `2026-03-12T09:30:00.250+01:00`.
export function stamp(date) {
  const two = (n) => String(n).padStart(2, "0");
  const minutes = -date.getTimezoneOffset();
  const size = Math.abs(minutes);
  return `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}` +
    `T${two(date.getHours())}:${two(date.getMinutes())}:${two(date.getSeconds())}` +
    `.${String(date.getMilliseconds()).padStart(3, "0")}` +
    `${minutes < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}

/// The day that a stamp belongs to, where it was written.
export function dayOf(at) {
  return at.slice(0, 10);
}

/// Hours and minutes of a stamp, where it was written.
export function clockOf(at) {
  return at.slice(11, 16);
}

/// Seconds between two stamps.
export function secondsBetween(from, to) {
  return (Date.parse(to) - Date.parse(from)) / 1000;
}

/// Compares the clock of the device with a count that nobody can set; `jump` gives the seconds by which the clock was
/// moved since the last call, or 0 while they agree within two seconds.
export function clockWatch(wall, steady) {
  let last = { wall: wall(), steady: steady() };
  return {
    jump() {
      const now = { wall: wall(), steady: steady() };
      const moved = (now.wall - last.wall - (now.steady - last.steady)) / 1000;
      // On some devices the steady count stops while they sleep: that shows as a jump too, and is written down too.
      last = now;
      return Math.abs(moved) >= 2 ? moved : 0;
    },
  };
}
