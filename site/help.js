// Help is one touch away however far down the page: its line stays at the top once the head is out of
// sight. Nothing lies over what it leads to.

const html = document.documentElement;

const watch = (element, tell) => {
  if (element) new IntersectionObserver(([{ isIntersecting }]) => tell(isIntersecting)).observe(element);
};

watch(document.querySelector(".top"), (seen) => html.toggleAttribute("data-head-gone", !seen));
watch(document.getElementById("eaten"), (seen) => html.toggleAttribute("data-help-seen", seen));
