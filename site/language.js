// The way to this page in another language: it takes along what the address carries. What is on the
// device is shared; without this script it is a plain link.

for (const link of document.querySelectorAll("[data-language]")) {
  const drawn = link.href;
  const aim = () => {
    const place = new URL(drawn);
    // A page that was drawn on the device stands in for the one that the address names.
    place.pathname = place.pathname.replace(/\/recipes\/_\/$/, `/recipes/${location.pathname.split("/").at(-2)}/`);
    link.href = `${place.href}${location.search}${location.hash}`;
  };
  for (const kind of ["pointerdown", "focus", "click"]) link.addEventListener(kind, aim);
}
