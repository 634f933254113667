(function () {
  document.documentElement.classList.add("live");
  const map = explorer(JSON.parse(document.getElementById("data").textContent), document);
  window.addEventListener("beforeprint", () => {
    document.querySelectorAll("details").forEach((part) => { part.open = true; });
    map.drawMap();
  });
})();
