// The ring with the large number in it. It moves only as time passes.
const round = 2 * Math.PI * 46;

function dialOf(node) {
  const drawn = document.createElementNS(space, "svg");
  drawn.setAttribute("viewBox", "0 0 100 100");
  drawn.setAttribute("aria-hidden", "true");
  const circle = (name, radius) => {
    const one = document.createElementNS(space, "circle");
    one.setAttribute("class", name);
    one.setAttribute("cx", 50);
    one.setAttribute("cy", 50);
    one.setAttribute("r", radius);
    drawn.append(one);
    return one;
  };
  const breath = circle("breath", 0);
  circle("groove", 46);
  const arc = circle("arc", 46);
  arc.setAttribute("stroke-dasharray", round);
  arc.setAttribute("transform", "rotate(-90 50 50)");
  node.prepend(drawn);
  return {
    share(part) { arc.setAttribute("stroke-dashoffset", round * (1 - Math.max(0, Math.min(1, part)))); },
    // Fullness of a breath, 0 to 1; null hides it.
    breath(part) { breath.setAttribute("r", part === null ? 0 : 18 + 24 * part); },
  };
}
