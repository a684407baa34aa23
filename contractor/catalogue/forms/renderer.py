"""A renderer for forms with hundreds of fields: the plain widgets are written without a template each.

A build-up of thirteen layers has over two hundred fields and some five hundred options; through templates that alone
takes most of the page's time. What is written is what the templates of django/forms/ write.
"""

from collections.abc import Callable

from django.db.models.fields import BLANK_CHOICE_DASH
from django.forms.boundfield import BoundField
from django.forms.renderers import TemplatesSetting
from django.forms.utils import flatatt
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import SafeString, mark_safe

NOTHING_CHOSEN = BLANK_CHOICE_DASH[0][1]


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
    label = "Choose" if option["label"] == NOTHING_CHOSEN else conditional_escape(option["label"])
    return f'<option value="{conditional_escape(option["value"])}"{mark}>{label}</option>'


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


def _field(field: BoundField) -> SafeString:
    """What django/forms/field.html writes of a field that is no fieldset."""
    attrs = field.field.widget.attrs
    unit = format_html('<span class="unit">{}</span>', attrs["data-unit"]) if attrs.get("data-unit") else ""
    told = mark_safe(field.help_text)
    words = format_html('<p class="help" id="{}_helptext">{}</p>', field.auto_id, told) if told else ""
    optional = "" if field.field.required else mark_safe(' <span class="optional">(optional)</span>')
    if field.widget_type == "checkbox":
        label = format_html('<label for="{}">{}</label>', field.id_for_label, field.label)
        body = format_html('<div class="check">{}<div>{}{}</div></div>', field, label, words)
    else:
        parts = (unit, field) if attrs.get("data-unit") == "£" else (field, unit)
        entry = format_html('<div class="with-unit">{}{}</div>', *parts) if unit else field
        label = format_html('<label for="{}">{}{}</label>', field.id_for_label, field.label, optional)
        body = format_html("{}{}{}", label, entry, words)
    wrong = field.errors
    start = format_html('<div class="field {}{}">', attrs.get("width_class", ""), " bad" if wrong else "")
    return format_html("{}{}{}</div>", start, body, wrong if wrong else "")


class QuickRenderer(TemplatesSetting):
    def render(self, template_name: str, context: dict, request=None) -> str:
        if template_name == self.field_template_name and not context["field"].use_fieldset:
            return _field(context["field"])
        write = WRITTEN.get(template_name)
        return write(context["widget"]) if write else super().render(template_name, context, request)
