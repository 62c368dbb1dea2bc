// Zoom of the plan and a filter of the table of holes. The page is whole without it, and on paper with it.
const add = (parent, tag, facts) => parent.appendChild(Object.assign(document.createElement(tag), facts));
const controls = (label) => {
  const group = Object.assign(document.createElement("p"), { className: "controls" });
  group.setAttribute("role", "group");
  group.setAttribute("aria-label", label);
  return group;
};

const plan = document.querySelector(".plan svg");
if (plan) {
  const whole = plan.getAttribute("viewBox").split(" ").map(Number);
  const [, , width, height] = whole;
  const most = 16;
  let view = whole;
  const draw = (box) => plan.setAttribute("viewBox", box.join(" "));
  const within = (value, end) => Math.max(0, Math.min(end, value));
  const look = (x, y, scale) => {
    const part = [width / scale, height / scale];
    view = [within(x, width - part[0]), within(y, height - part[1]), ...part];
    plan.classList.toggle("zoomed", scale > 1);
    draw(view);
  };
  const zoom = (by) => {
    const [x, y, w, h] = view;
    const scale = Math.max(1, Math.min(most, (width / w) * by));
    look(x + (w - width / scale) / 2, y + (h - height / scale) / 2, scale);
  };
  const group = controls("Zoom of the plan");
  add(group, "button", { type: "button", textContent: "Zoom in", onclick: () => zoom(2) });
  add(group, "button", { type: "button", textContent: "Zoom out", onclick: () => zoom(0.5) });
  add(group, "button", { type: "button", textContent: "Whole", onclick: () => look(0, 0, 1) });
  plan.closest("figure").before(group);
  plan.onpointerdown = (event) => plan.setPointerCapture(event.pointerId);
  plan.onpointermove = (event) => {
    if (!plan.hasPointerCapture(event.pointerId)) return;
    const pixel = view[2] / plan.clientWidth;
    look(view[0] - event.movementX * pixel, view[1] - event.movementY * pixel, width / view[2]);
  };
  window.addEventListener("beforeprint", () => draw(whole));
  window.addEventListener("afterprint", () => draw(view));
}

const rows = [...document.querySelectorAll("table.measure tbody tr")];
if (rows.length > 0) {
  const words = (text) => text.toLowerCase().split(/[\s,*]+/).filter(Boolean);
  const known = rows.map((row) => words([...row.cells].map((cell) => `${cell.textContent} ${cell.title}`).join(" ")));
  const group = controls("Filter of the holes");
  const label = add(group, "label", { textContent: "Show holes, blocks or places that begin with " });
  const field = add(label, "input", { type: "search", size: 12 });
  const told = add(group, "output", {});
  field.oninput = () => {
    const wanted = words(field.value);
    rows.forEach((row, index) => {
      row.hidden = wanted.length > 0 && !wanted.some((word) => known[index].some((own) => own.startsWith(word)));
    });
    told.textContent = ` ${rows.filter((row) => !row.hidden).length} of ${rows.length}`;
  };
  document.getElementById("first").after(group);
}
