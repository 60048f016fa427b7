"""What the browser tests measure on a page: contrast, targets, and where the keyboard gets to."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page

# WCAG 2.2, glossary, "relative luminance" and "contrast ratio". Every visible run of text is measured
# against the first opaque background behind it; large text is held to the same figure as small.
CONTRAST = """
() => {
  const parts = (colour) => colour.match(/[\\d.]+/g).map(Number);
  const canvas = new OffscreenCanvas(1, 1).getContext("2d", {willReadFrequently: true});
  const rgb = (colour, under) => {
    canvas.fillStyle = under; canvas.fillRect(0, 0, 1, 1);
    canvas.fillStyle = colour; canvas.fillRect(0, 0, 1, 1);
    return [...canvas.getImageData(0, 0, 1, 1).data].slice(0, 3);
  };
  const css = (c) => `rgb(${c.join(",")})`;
  const behind = (node) => {
    const layers = [];
    for (let n = node; n; n = n.parentElement) {
      const colour = getComputedStyle(n).backgroundColor;
      layers.push(colour);
    }
    return layers.reverse().reduce((under, colour) => rgb(colour, css(under)), [255, 255, 255]);
  };
  const luminance = (c) => {
    const [r, g, b] = c.map((v) => v / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ratio = (a, b) => {
    const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
    return (high + 0.05) / (low + 0.05);
  };
  const walker = document.createTreeWalker(
    document.querySelector("dialog[open]") ?? document.body, NodeFilter.SHOW_TEXT);
  const found = [];
  let texts = 0;
  while (walker.nextNode()) {
    const node = walker.currentNode.parentElement;
    if (!walker.currentNode.data.trim() || !node.checkVisibility()) continue;
    if (node.closest("script, style, noscript, .heard-only")) continue;
    texts += 1;
    const under = behind(node);
    const value = ratio(rgb(getComputedStyle(node).color, css(under)), under);
    if (value < 7) found.push([walker.currentNode.data.trim().slice(0, 40), Math.round(value * 100) / 100]);
  }
  return {texts, found};
}
"""

# Every place a finger may press, with its size and how far its text runs over.
TARGETS = """
() => [...(document.querySelector("dialog[open]") ?? document)
    .querySelectorAll("button, summary, a[href], input, label.choice")]
  .filter((node) => node.checkVisibility() && !(node.matches("input") && node.closest("label")))
  .map((node) => {
    const box = node.getBoundingClientRect();
    return {name: (node.getAttribute("aria-label") ?? node.textContent).trim().slice(0, 30), tag: node.tagName,
      wide: box.width, high: box.height, over: node.matches("input") ? 0 : node.scrollWidth - node.clientWidth};
  })
"""

# What can be reached, by the rules of HTML's sequential focus order; a group of radio buttons is one stop.
REACHABLE = """
() => {
  const root = document.querySelector("dialog[open]") ?? document;
  const all = [...root.querySelectorAll("button, summary, a[href], input")]
    .filter((n) => n.checkVisibility() && !n.disabled);
  return all.filter((n) => n.type !== "radio" || n.checked).map((n, k) => { n.dataset.k = k; return k; });
}
"""

# The element with the focus: its number, and whether its ring shows and nothing lies over its middle.
FOCUS = """
() => {
  const node = document.activeElement;
  const style = getComputedStyle(node);
  const box = node.getBoundingClientRect();
  const [x, y] = [box.left + box.width / 2, box.top + Math.min(box.height / 2, 20)];
  const top = document.elementFromPoint(x, y);
  return {k: node.dataset.k === undefined ? null : Number(node.dataset.k),
    name: node.id || node.textContent.trim().slice(0, 30),
    ring: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
    open: Boolean(top) && (node.contains(top) || top.contains(node))};
}
"""


def low_contrast(page: Page) -> list[Any]:
    """Texts below 7:1 (WCAG 2.2, criterion 1.4.6), with their ratio."""
    measured = page.evaluate(CONTRAST)
    assert measured["texts"] > 3
    found: list[Any] = measured["found"]
    return found


def small_targets(page: Page, least: float) -> list[Any]:
    """Places to press that are smaller than `least` pixels either way, or whose text runs over."""
    return [t for t in page.evaluate(TARGETS) if min(t["wide"], t["high"]) < least or t["over"] > 1]


def keyboard_faults(page: Page) -> list[str]:
    """Press Tab through the page: what is never reached, has no visible ring, or is covered."""
    wanted = set(page.evaluate(REACHABLE))
    faults: list[str] = []
    reached: set[int] = set()
    for _ in range(len(wanted) + 12):
        page.keyboard.press("Tab")
        now = page.evaluate(FOCUS)
        if now["k"] is None:
            continue
        reached.add(now["k"])
        if not now["ring"]:
            faults.append(f"no ring: {now['name']}")
        if not now["open"]:
            faults.append(f"covered: {now['name']}")
        if reached >= wanted:
            break
    return faults + [f"never reached: {k}" for k in sorted(wanted - reached)]
