"""How a template becomes a program; only where templates are compiled."""

from __future__ import annotations

from jinja2 import nodes
from jinja2.compiler import CodeGenerator, Frame


class Written(CodeGenerator):
    """Sends each value through ``environment.escaped`` on its way into the page."""

    def _output_child_pre(self, node: nodes.Expr, frame: Frame, finalize: object) -> None:
        if frame.eval_ctx.autoescape and not frame.eval_ctx.volatile and finalize.src is None:
            self.write("environment.escaped(")
        else:
            super()._output_child_pre(node, frame, finalize)
