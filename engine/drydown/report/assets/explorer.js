"use strict";
// The map of humidity by depth and time with its cursor. `data` is what `pack.pack` packs; `root` holds the elements of
// explorer.html. The page of a result has it in its text, the desk imports it.
export function explorer(data, root) {
  const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  const humidity = bytes(data.humidity), wettest = bytes(data.wettest), mean = bytes(data.mean);
  const criteria = data.criteria.map((c) => ({ ...c, values: new Float32Array(bytes(c.values).buffer) }));
  const temperature = new Int16Array(bytes(data.temperature).buffer);
  const water = new Float32Array(bytes(data.water).buffer);
  const flow = new Float32Array(bytes(data.flow).buffer);
  const n = data.n, cells = data.edges.length - 1, depth = data.edges[cells], count = data.layers.length;
  const ways = data.ways.length;
  const byId = (id) => root.querySelector("#" + id);
  const canvas = byId("map"), slider = byId("time"), play = byId("play"), cursor = byId("cursor");
  const months = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December"];

  // Colours of the map, 256 of them.
  const colour = [];
  for (let i = 0; i < 256; i++) colour.push([0, 2, 4].map((k) => parseInt(data.colours.substr(6 * i + k, 2), 16)));
  const shade = (half) => colour[Math.max(0, Math.min(255, Math.round(255 * (half / 2 - data.low) / (data.high - data.low))))];

  // The whole run once, one pixel for a stretch of time and a cell.
  const whole = document.createElement("canvas");
  whole.width = n;
  whole.height = cells;
  const brush = whole.getContext("2d"), image = brush.createImageData(n, cells);
  for (let t = 0; t < n; t++) {
    for (let c = 0; c < cells; c++) {
      const [r, g, b] = shade(humidity[t * cells + c]), at = 4 * (c * n + t);
      image.data[at] = r; image.data[at + 1] = g; image.data[at + 2] = b; image.data[at + 3] = 255;
    }
  }
  brush.putImageData(image, 0, 0);

  function drawMap() {
    const scale = window.devicePixelRatio || 1;
    const width = Math.max(1, Math.round(canvas.clientWidth * scale)), height = Math.round(canvas.clientHeight * scale);
    canvas.width = width;
    canvas.height = height;
    const pen = canvas.getContext("2d");
    pen.imageSmoothingEnabled = n > width;
    for (let c = 0; c < cells; c++) {
      const from = Math.round(height * data.edges[c] / depth), to = Math.round(height * data.edges[c + 1] / depth);
      pen.drawImage(whole, 0, c, n, 1, 0, from, width, Math.max(1, to - from));
    }
    pen.fillStyle = "rgba(255,255,255,.85)";
    data.layers.slice(1).forEach((layer) => {
      pen.fillRect(0, Math.round(height * data.edges[layer.cells[0]] / depth) - scale / 2, width, scale);
    });
    data.events.forEach((event) => {
      const x = Math.round(width * (event.at + 0.5) / n);
      pen.fillStyle = "rgba(255,255,255,.9)";
      for (let y = 0; y < height; y += 7 * scale) pen.fillRect(x - scale / 2, y, 1.5 * scale, 4 * scale);
    });
  }

  const dateAt = (t) => new Date(Date.parse(data.start + "Z") + t * data.hours * 3600e3);
  function dateWords(t) {
    const d = dateAt(t), hour = data.hours < 24 ? ", " + String(d.getUTCHours()).padStart(2, "0") + ":00" : "";
    return d.getUTCDate() + " " + months[d.getUTCMonth()] + " " + d.getUTCFullYear() + hour;
  }
  // Bounds of the words: 80 and 95 % where it is wettest in the layer.
  const word = (percent) => (percent >= 95 ? "wet" : percent >= 80 ? "damp" : "dry");
  const few = (x) => (Math.abs(x) >= 100 ? x.toFixed(0) : Math.abs(x) >= 10 ? x.toFixed(1) : x.toFixed(2));
  // A value in the units of the page: factor, offset and label come with the data.
  function told(what, value, digits) {
    const [factor, offset, label] = data.units[what], shown = factor * value + offset;
    return (digits === undefined ? few(shown) : shown.toFixed(digits)) + " " + label;
  }
  const minus = (text) => text.replace("-", "\u2212");

  // Full width of an arrow: what one week in fifty passes by vapour; rain is cut there.
  const vapour = flow.filter((_, i) => data.ways[i % ways].name !== "rain taken up").map(Math.abs).sort();
  const most = Math.max(1e-6, vapour[Math.floor(0.98 * (vapour.length - 1))]);
  const rects = Array.from(root.querySelectorAll("#cells rect"));
  const rows = Array.from(root.querySelectorAll("#layers tbody tr"));
  const arrows = Array.from(root.querySelectorAll("[data-way]"));
  const lines = Array.from(root.querySelectorAll("#ways li"));

  // An arrow of length 44 along y, wide in proportion to what passes; up is out of the wall.
  function arrow(amount) {
    const half = 13 * Math.min(1, Math.abs(amount) / most);
    if (half < 0.13) return "";
    const shaft = Math.max(0.6, half), head = shaft + 4, tip = Math.min(16, 7 + shaft);
    return `M${-shaft} 44 L${-shaft} ${tip} L${-head} ${tip} L0 0 L${head} ${tip} L${shaft} ${tip} L${shaft} 44 Z`;
  }

  let now = 0, timer = null;
  function show(t) {
    now = Math.max(0, Math.min(n - 1, t));
    slider.value = now;
    cursor.style.left = 100 * (now + 0.5) / n + "%";
    byId("date").textContent = dateWords(now);
    rects.forEach((rect, c) => {
      const [r, g, b] = shade(humidity[now * cells + c]);
      rect.setAttribute("fill", `rgb(${r},${g},${b})`);
    });
    let worst = [0, -1];
    rows.forEach((row, j) => {
      const at = now * count + j, wet = wettest[at] / 2, cell = row.querySelectorAll("td"), layer = data.layers[j];
      if (wet > worst[1]) worst = [j, wet];
      const state = word(wet);
      row.dataset.state = state;
      cell[0].querySelector("b").textContent = state;
      cell[1].querySelector("span").textContent = minus(told("temperature", temperature[at] / 10, 1));
      cell[2].querySelector("span").textContent = Math.round(mean[at] / 2) + " %";
      cell[3].querySelector("span").textContent = Math.round(wet) + " %";
      cell[4].querySelector("span").textContent = told("water", water[at]) +
        (layer.dry ? " (" + (100 * water[at] / layer.dry).toFixed(0) + " % of dry mass)" : "");
      criteria.forEach((c, k) => {
        const value = c.values[at];
        cell[5 + k].querySelector("span").textContent = Number.isNaN(value) ? "–" : minus(value.toFixed(c.digits)) + c.unit;
      });
    });
    arrows.forEach((group) => {
      const i = Number(group.dataset.way), amount = flow[now * ways + i], outward = amount >= 0;
      const path = group.querySelector("path");
      path.setAttribute("d", arrow(amount));
      path.setAttribute("transform", (group.dataset.where === "bottom") === outward ? "rotate(180 0 22)" : "");
      path.setAttribute("class", outward ? "leaves" : "enters");
    });
    lines.forEach((line, i) => {
      const amount = flow[now * ways + i], small = Math.abs(amount) < 0.05;
      line.querySelector("b").textContent = small ? "next to nothing" : told("flow", Math.abs(amount)).replace(/ g\/m²$/, " g/m² a day");
      line.querySelector("i").textContent = small ? "" : amount > 0 ? "leaving" : "coming in";
    });
    const layer = data.layers[worst[0]];
    slider.setAttribute("aria-valuetext", dateWords(now) + ". Wettest: " + layer.name + ", " + word(worst[1]) + ", " +
      Math.round(worst[1]) + " %");
  }

  function stop() {
    clearInterval(timer);
    timer = null;
    play.textContent = "Play";
    play.setAttribute("aria-pressed", "false");
  }
  play.addEventListener("click", () => {
    if (timer) return stop();
    if (now >= n - 1) show(0);
    const step = Math.max(1, Math.round(n / 600));
    play.textContent = "Pause";
    play.setAttribute("aria-pressed", "true");
    timer = setInterval(() => (now >= n - 1 ? stop() : show(now + step)), 60);
  });
  slider.addEventListener("input", () => { stop(); show(Number(slider.value)); });
  root.querySelectorAll("[data-jump]").forEach((button) =>
    button.addEventListener("click", () => { stop(); show(Number(button.dataset.jump)); }));
  const point = (event) => {
    const box = canvas.getBoundingClientRect();
    stop();
    show(Math.floor(n * (event.clientX - box.left) / box.width));
  };
  canvas.addEventListener("pointerdown", (event) => { canvas.setPointerCapture(event.pointerId); point(event); });
  canvas.addEventListener("pointermove", (event) => { if (event.buttons) point(event); });
  window.addEventListener("resize", drawMap);
  slider.max = n - 1;
  drawMap();
  show(data.events.length ? data.events[0].at : 0);
  function close() {
    stop();
    window.removeEventListener("resize", drawMap);
  }
  return { show, drawMap, close, at: () => now, last: n - 1 };
}
