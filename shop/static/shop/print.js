/* Print buttons; without scripts the browser's own menu prints the same page. */
"use strict";
for (const button of document.querySelectorAll("[data-print]")) {
  button.addEventListener("click", () => print());
}
