//! How elements look, as far as it says what they are for: hidden, dashed, drawn or filled.

use roxmltree::{Document, Node};
use simplecss::{AttributeOperator, DeclarationTokenizer, Element, PseudoClass, StyleSheet};

use super::super::DrawingFault;

/// More comparisons of rules with elements than this are refused.
const MOST_WORK: usize = 20_000_000;

/// What an element inherits and its own style changes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Look {
    /// Neither switched off nor hidden nor without any paint.
    pub(super) shown: bool,
    pub(super) dashed: bool,
    pub(super) filled: bool,
    pub(super) stroked: bool,
    displayed: bool,
    visible: bool,
}

impl Default for Look {
    fn default() -> Self {
        Self {
            shown: true,
            dashed: false,
            filled: true,
            stroked: false,
            displayed: true,
            visible: true,
        }
    }
}

impl Look {
    fn set(&mut self, name: &str, value: &str) {
        let value = value.trim();
        if value == "inherit" {
            return;
        }
        match name {
            "display" => self.displayed &= value != "none",
            "visibility" => self.visible = value == "visible",
            "fill" => self.filled = !matches!(value, "none" | "transparent"),
            "stroke" => self.stroked = !matches!(value, "none" | "transparent"),
            "stroke-dasharray" => self.dashed = value != "none",
            _ => {}
        }
    }
}

/// The style sheets of a document.
pub(super) struct Styles<'a> {
    sheet: StyleSheet<'a>,
}

impl<'a> Styles<'a> {
    pub(super) fn of(document: &'a Document) -> Result<Self, DrawingFault> {
        let mut sheet = StyleSheet::new();
        for style in document
            .descendants()
            .filter(|n| n.has_tag_name("style") || n.tag_name().name() == "style")
        {
            sheet.parse_more(style.text().unwrap_or_default());
        }
        let elements = document.descendants().filter(Node::is_element).count();
        if elements.saturating_mul(sheet.rules.len()) > MOST_WORK {
            let what = format!("{elements} elements with {} rules of style", sheet.rules.len());
            return Err(DrawingFault::TooLarge(what));
        }
        Ok(Self { sheet })
    }

    /// How `node` looks inside something that looks like `around`.
    pub(super) fn look(&self, node: Node, around: &Look) -> Look {
        let mut look = *around;
        for attribute in node.attributes() {
            look.set(attribute.name(), attribute.value());
        }
        for rule in &self.sheet.rules {
            if rule.selector.matches(&Matched(node)) {
                for declaration in &rule.declarations {
                    look.set(declaration.name, declaration.value);
                }
            }
        }
        for declaration in DeclarationTokenizer::from(node.attribute("style").unwrap_or_default()) {
            look.set(declaration.name, declaration.value);
        }
        look.shown = look.displayed && look.visible && (look.filled || look.stroked);
        look
    }
}

/// An element as selectors see it.
struct Matched<'a, 'input>(Node<'a, 'input>);

impl Element for Matched<'_, '_> {
    fn parent_element(&self) -> Option<Self> {
        self.0.parent_element().map(Self)
    }

    fn prev_sibling_element(&self) -> Option<Self> {
        self.0.prev_sibling_element().map(Self)
    }

    fn has_local_name(&self, name: &str) -> bool {
        self.0.tag_name().name() == name
    }

    fn attribute_matches(&self, local_name: &str, operator: AttributeOperator<'_>) -> bool {
        self.0.attribute(local_name).is_some_and(|value| operator.matches(value))
    }

    fn pseudo_class_matches(&self, class: PseudoClass<'_>) -> bool {
        matches!(class, PseudoClass::FirstChild) && self.0.prev_sibling_element().is_none()
    }
}
