// The design as a form.

export function mountForm(root, store) {
  root.textContent = "";
}
