const sweeps = data.sweeps.map((told, index) => new Sweep(told, index));
data.grids.forEach((told, index) => new Grid(told, index));

// On paper each sweep stands at the level to begin with.
let left = [];
window.addEventListener("beforeprint", () => {
  left = sweeps.map((sweep) => sweep.level);
  sweeps.forEach((sweep) => sweep.go(sweep.told.start));
});
window.addEventListener("afterprint", () => {
  left.forEach((level, at) => sweeps[at].go(level));
});
window.addEventListener("resize", () => {
  sweeps.forEach((sweep) => { sweep.reading.style.minHeight = ""; });
});
document.documentElement.classList.add("live");
