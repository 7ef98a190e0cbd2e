// Datasette's filter row has no labels of its own: name each control, so that a screen reader can say what it is.
(() => {
  const words = { _filter_column: "Column", _filter_op: "Comparison", _filter_value: "Value", _sort: "Sort by" };
  for (const field of document.querySelectorAll(".filters select, .filters input[type='text']")) {
    const [, kind, number] = field.name.match(/^(_[a-z_]+?)(?:_(\d+))?$/) ?? [];
    if (words[kind]) field.setAttribute("aria-label", number ? `${words[kind]}, filter ${number}` : words[kind]);
  }
})();
