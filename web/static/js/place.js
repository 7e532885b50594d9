// Where the links of the screens scroll sideways, the one that one is on is brought into view.

const here = document.querySelector(".top nav [aria-current]");
const links = here?.closest("nav");

if (links && links.scrollWidth > links.clientWidth) {
  links.scrollLeft = here.offsetLeft - (links.clientWidth - here.offsetWidth) / 2;
}
