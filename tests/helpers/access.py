"""What a page asks of eyes, hands and ears, measured in the browser as it stands."""

from __future__ import annotations

from playwright.sync_api import Page

from .runtime import TOP

AXE = TOP / "site" / "node_modules" / "axe-core" / "axe.min.js"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

# violations, and what axe could not decide: told apart by the caller. The size of targets is a rule
# that is off unless asked for.
_RUN = """async ([tags, rules]) => {
  // A small mark drawn by the style sheet beside a text is no ground of it.
  const known = axe._audit.checks["color-contrast"].options;
  axe.configure({ checks: [{ id: "color-contrast", options: { ...known, ignorePseudo: true } }] });
  const only = rules ? { type: "rule", values: rules } : { type: "tag", values: tags };
  const found = await axe.run(document, { runOnly: only, ...(rules ? {} : { rules: { "target-size": { enabled: true } } }), resultTypes: ["violations", "incomplete"] });
  const told = (kind) => found[kind].flatMap((one) => one.nodes.map((node) => ({
    rule: one.id, target: node.target.flat().join(" "), why: node.any.concat(node.all, node.none).map((check) => check.data?.messageKey ?? check.id).join(","), text: node.failureSummary,
  })));
  return { violations: told("violations"), incomplete: told("incomplete"), passes: found.passes.length };
}"""

# Colours by computed style: of texts whose ground axe cannot tell, on every ground that may lie there.
_COLOURS = """
const parse = (text) => {
  const [red, green, blue, alpha = 1] = text.match(/[\\d.]+/g).map(Number);
  return text.startsWith("color(") ? { rgb: [red, green, blue].map((part) => part * 255), alpha } : { rgb: [red, green, blue], alpha };
};
const light = ({ rgb }) => {
  const [r, g, b] = rgb.map((part) => part / 255).map((part) => part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4);
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
};
const ratio = (one, other) => {
  const [high, low] = [light(one), light(other)].sort((a, b) => b - a);
  return (high + 0.05) / (low + 0.05);
};
// Every colour that may lie behind: solid grounds end the search, gradients add all their stops.
const grounds = (element) => {
  const found = [];
  for (let up = element; up; up = up.parentElement) {
    const style = getComputedStyle(up);
    for (const stop of style.backgroundImage.match(/(rgba?|color)\\([^)]*\\)/g) ?? []) if (parse(stop).alpha === 1) found.push(parse(stop));
    const ground = parse(style.backgroundColor);
    if (ground.alpha === 1) return [...found, ground];
    if (ground.alpha > 0) throw new Error(`a ground that is half clear: ${up.className}`);
  }
  return [...found, parse(getComputedStyle(document.documentElement).backgroundColor)];
};
"""

_CONTRAST = "(target) => {" + _COLOURS + """
  const told = (element) => {
    const style = getComputedStyle(element);
    const ink = parse(element instanceof SVGElement ? style.fill : style.color);
    const large = parseFloat(style.fontSize) >= 24 || (parseFloat(style.fontSize) >= 18.66 && Number(style.fontWeight) >= 700);
    const least = Math.min(...grounds(element).map((ground) => ratio(ink, ground)));
    return least >= (large ? 3 : 4.5) ? "" : `${element.tagName} ${element.textContent.trim().slice(0, 40)}: ${least.toFixed(2)}`;
  };
  if (target) return [told(document.querySelector(target))].filter(Boolean);
  const owners = new Set();
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let text = texts.nextNode(); text; text = texts.nextNode()) {
    const owner = text.parentElement;
    if (text.data.trim() && !owner.closest("script, option, datalist, title, desc, .quiet, .skip, [disabled]") && owner.checkVisibility({ visibilityProperty: true })) owners.add(owner);
  }
  if (owners.size < 5) throw new Error("hardly a text is seen");
  return [...owners].map(told).filter(Boolean);
}"""

# Edges of what is typed into or pressed, and the ring around what has the focus: 3 to 1.
_EDGES = "() => {" + _COLOURS + """
  const wrong = [];
  for (const element of document.querySelectorAll("input:not([type=hidden], [type=checkbox]), select, textarea, button:not(.plain), .button")) {
    if (!element.checkVisibility({ visibilityProperty: true })) continue;
    const style = getComputedStyle(element);
    const outside = Math.min(...grounds(element.parentElement).map((ground) => ratio(parse(style.borderTopColor), ground)));
    if (outside < 3) wrong.push(`${element.id || element.textContent.trim()}: edge ${outside.toFixed(2)}`);
  }
  return wrong;
}"""

_GEOMETRY = """([least, inside]) => {
  const html = document.documentElement;
  const said = (element) => `<${element.tagName.toLowerCase()}${element.id ? ` #${element.id}` : ""}${typeof element.className === "string" && element.className ? ` .${element.className}` : ""}> ${(element.textContent ?? "").trim().slice(0, 40)}`;
  const seen = (element) => element.checkVisibility({ visibilityProperty: true, opacityProperty: true }) && !element.closest(".quiet, .skip");
  const scrolls = (element) => { for (let up = element; up && up !== html; up = up.parentElement) if (["auto", "scroll"].includes(getComputedStyle(up).overflowX)) return up.scrollWidth > up.clientWidth; return false; };
  const cut = [];
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let text = texts.nextNode(); text; text = texts.nextNode()) {
    const owner = text.parentElement;
    if (!text.data.trim() || owner.closest("script, option, datalist, title, desc, pre") || !seen(owner) || scrolls(owner)) continue;
    const range = document.createRange();
    range.selectNodeContents(text);
    for (const box of range.getClientRects()) {
      if (box.width && (box.right > html.clientWidth + 0.5 || box.left < -0.5)) { cut.push(`over the edge: ${said(owner)}`); break; }
      const holder = owner.closest("td, th, button, .button, summary, .verdict, .message, label, legend, h1, h2, h3, .field");
      if (holder) {
        const around = holder.getBoundingClientRect();
        if (box.right > around.right + 1.5 || box.left < around.left - 1.5) { cut.push(`out of its box: ${said(owner)} in ${said(holder)}`); break; }
      }
    }
  }
  for (const element of document.body.querySelectorAll("*")) {
    if (element instanceof SVGElement || !seen(element)) continue;
    const style = getComputedStyle(element);
    if (!/hidden|clip/.test(style.overflowX + style.overflowY) || /INPUT|SELECT|TEXTAREA/.test(element.tagName)) continue;
    if (element.scrollWidth > element.clientWidth + 1 || element.scrollHeight > element.clientHeight + 1) cut.push(`clipped: ${said(element)}`);
  }
  const small = [];
  for (const element of document.querySelectorAll("a[href], button, summary, input:not([type=hidden]), select, textarea")) {
    if (!seen(element)) continue;
    // Pressed is the label as well.
    const boxes = [element, ...(element.labels ?? [])].map((one) => one.getBoundingClientRect()).filter((one) => one.width && one.height);
    const wide = Math.max(...boxes.map((one) => one.width)), high = Math.max(...boxes.map((one) => one.height));
    // A link within a sentence is as high as its line: the exception of the guideline.
    const inLine = element.tagName === "A" && getComputedStyle(element).display === "inline" && element.parentElement.textContent.trim() !== element.textContent.trim();
    const wanted = inside && element.closest(inside) ? 44 : least;
    if (!inLine && (wide < wanted - 0.5 || high < wanted - 0.5)) small.push(`${Math.round(wide)} x ${Math.round(high)}, wanted ${wanted}: ${said(element)}`);
  }
  return { wide: html.scrollWidth - html.clientWidth, cut: [...new Set(cut)], small };
}"""

# How far the focus comes at this step: its name and place, whether it is seen and not covered.
NAMED = """(element) => (element.getAttribute("aria-label") || element.getAttribute("aria-labelledby")?.split(" ").map((id) => document.getElementById(id)?.textContent).join(" ")
  || [...(element.labels ?? [])].map((label) => label.textContent).join(" ") || element.textContent).trim().replace(/\\s+/g, " ")"""

_FOCUS = "() => { const named = " + NAMED + """;
  const element = document.activeElement;
  if (element === document.body || element === null) return null;
  const again = element === globalThis.lastStop;
  globalThis.lastStop = element;
  const box = element.getBoundingClientRect();
  const style = getComputedStyle(element);
  const at = (x, y) => { const top = document.elementFromPoint(x, y); return top !== null && (top === element || element.contains(top) || top.contains(element) && !top.matches(".update, .day-timers") || [...(element.labels ?? [])].some((label) => label.contains(top))); };
  const points = [0.1, 0.5, 0.9].flatMap((x) => [0.1, 0.5, 0.9].map((y) => [box.left + x * box.width, Math.min(Math.max(box.top, 0) + y * Math.min(box.height, innerHeight), box.bottom - 1)]));
  return {
    id: element.id, tag: element.tagName.toLowerCase(), name: named(element),
    seen: box.bottom > 0 && box.top < innerHeight && points.some(([x, y]) => at(x, y)),
    ring: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
    top: box.top + scrollY, again, fixed: element.closest(".part-bar") !== null,
  };
}"""


class Access:
    """Looks at a page in one state after another, and keeps count of them."""

    def __init__(self) -> None:
        self.states: list[str] = []
        self.undecided: list[str] = []
        self._source = AXE.read_text(encoding="utf-8")

    def axe(self, page: Page, state: str, rules: list[str] | None = None) -> None:
        """No findings; a contrast that axe leaves open is worked out from all that may lie behind."""
        # Evaluated, not inserted: the page's content policy allows no foreign script.
        if not page.evaluate("'axe' in globalThis"):
            page.evaluate(self._source)
        found = page.evaluate(_RUN, [TAGS, rules])
        assert not found["violations"], f"{state} ({page.url}):\n" + "\n".join(f"{one['rule']}: {one['target']}\n{one['text']}" for one in found["violations"])
        for one in found["incomplete"]:
            self.undecided.append(f"{state}: {one['rule']} ({one['why']}): {one['target']}")
            if one["rule"] == "color-contrast":
                wrong = page.evaluate(_CONTRAST, one["target"])
                assert not wrong, f"{state}: {wrong}"
        self.states.append(state)

    def in_all_looks(self, page: Page, state: str) -> None:
        """By day all rules; by night and with forced colours those that colours decide."""
        self.axe(page, state)
        page.emulate_media(color_scheme="dark")
        self.axe(page, f"{state}, dark", ["color-contrast", "link-in-text-block"])
        assert page.evaluate(_EDGES) == [], f"{state}, dark"
        page.emulate_media(color_scheme="light", forced_colors="active")
        # axe takes the ink of a button from a property that forced colours leave alone.
        assert page.evaluate(_CONTRAST, "") == [], f"{state}, forced colours"
        self.axe(page, f"{state}, forced colours", ["link-in-text-block"])
        page.emulate_media(color_scheme="light", forced_colors="none")
        assert page.evaluate(_EDGES) == [], f"{state}, light"

    @staticmethod
    def room(page: Page, state: str, least: int = 24, inside: str = "") -> None:
        """Nothing runs over the edge, nothing is cut, nothing to be pressed is too small."""
        found = page.evaluate(_GEOMETRY, [least, inside])
        assert found == {"wide": 0, "cut": [], "small": []}, f"{state} at {page.viewport_size}: {found}"

    def narrow(self, page: Page, state: str, inside: str = "") -> None:
        """At 360 px, and at 320, which is 1280 enlarged to 400 %."""
        for size in ({"width": 320, "height": 256}, {"width": 360, "height": 740}):
            page.set_viewport_size(size)
            self.room(page, state, inside=inside)

    def walk(self, page: Page, most: int = 250, backwards: bool = False) -> list[dict]:
        """From the top with the tabulator to the end, or back from there: what is told of each stop."""
        page.evaluate("globalThis.lastStop = null")
        if not backwards:
            page.evaluate("document.body.tabIndex = -1; document.body.focus(); document.body.removeAttribute('tabindex'); scrollTo(0, 0)")
        stops = []
        for _ in range(most):
            page.keyboard.press("Shift+Tab" if backwards else "Tab")
            stop = page.evaluate(_FOCUS)
            if stop is None:
                break
            if not stop.pop("again"):  # a field for a time is several stops
                stops.append(stop)
        return stops
