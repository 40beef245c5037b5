import { loadPyodide } from "./pyodide/pyodide.mjs";
import { WHEELS } from "./wheels.js"; // written by the bench: the wheels as they were fetched

const here = (path) => new URL(path, import.meta.url).href;

const python = await loadPyodide({ indexURL: here("pyodide/") });
await python.loadPackage(WHEELS.map((name) => here(`wheels/${name}`)), { messageCallback() {} });

postMessage(python.runPython(`
import jinja2
import pint

units = pint.UnitRegistry()
rows = [(grams, units.Quantity(grams, "g").to("oz")) for grams in range(100, 2100, 100)]
jinja2.Template(
    "<table><tbody>{% for grams, ounces in rows %}"
    "<tr><th>{{ grams }} g</th><td>{{ '%.2f' % ounces.magnitude }} {{ ounces.units }}</td></tr>"
    "{% endfor %}</tbody></table>"
).render(rows=rows)
`));
