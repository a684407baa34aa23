"""A renderer for forms with hundreds of fields: the plain widgets are written without a template each.

A build-up of thirteen layers has over two hundred fields and some five hundred options; through templates that alone
takes most of the page's time. What is written is what the templates of django/forms/widgets/ write.
"""

from collections.abc import Callable

from django.forms.renderers import TemplatesSetting
from django.forms.utils import flatatt
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import SafeString, mark_safe


def _input(widget: dict) -> SafeString:
    value = {} if widget["value"] is None else {"value": widget["value"]}
    return format_html(
        "<input{}>", flatatt({"type": widget["type"], "name": widget["name"], **value, **widget["attrs"]})
    )


def _textarea(widget: dict) -> SafeString:
    return format_html(
        "<textarea{}>\n{}</textarea>", flatatt({"name": widget["name"], **widget["attrs"]}), widget["value"] or ""
    )


def _option(option: dict) -> str:
    mark = " selected" if option["selected"] else ""
    return f'<option value="{conditional_escape(option["value"])}"{mark}>{conditional_escape(option["label"])}</option>'


def _select(widget: dict) -> SafeString:
    options = [option for _, group, _ in widget["optgroups"] for option in group]
    written = mark_safe("".join(_option(option) for option in options))
    return format_html("<select{}>{}</select>", flatatt({"name": widget["name"], **widget["attrs"]}), written)


WRITTEN: dict[str, Callable[[dict], SafeString]] = {
    "django/forms/widgets/text.html": _input,
    "django/forms/widgets/number.html": _input,
    "django/forms/widgets/checkbox.html": _input,
    "django/forms/widgets/textarea.html": _textarea,
    "django/forms/widgets/select.html": _select,
}


class QuickRenderer(TemplatesSetting):
    def render(self, template_name: str, context: dict, request=None) -> str:
        write = WRITTEN.get(template_name)
        return write(context["widget"]) if write else super().render(template_name, context, request)
