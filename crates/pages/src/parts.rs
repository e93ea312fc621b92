//! Parts of templates, rendered where they are named without a copy of the view.
//!
//! The template library merges what a part is given into a copy of its surroundings, which at the top of a document
//! is the whole view: most of the time that a report took went into such copies. Here what a part is given becomes
//! names of its block, which shadow the surroundings as a merged copy would.

use crate::calls::known;
use handlebars::{
    BlockContext, BlockParamHolder, Context, Handlebars, Helper, HelperDef, HelperResult, Output,
    RenderContext, RenderErrorReason, Renderable,
};

/// The name by which a part is called once [`named`] has been over a template. A private sign, so that no field and
/// no helper of a template can have it; one sign, as `>` is, so that columns stay what they are.
pub(crate) const CALL: &str = "\u{e000}";

/// Calls of parts in a template's text, turned into calls of [`Part`]. A part that is given another context or has a
/// block of its own is left to the library.
pub(crate) fn named(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 64);
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("{{> ") {
        out.push_str(before);
        let call = after.split("}}").next().unwrap_or_default();
        let mut words = call.split_whitespace();
        let name = words.next().unwrap_or_default();
        let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '/');
        // Without a context, the first thing a part is given has a name: `value=...`.
        let given = words.next().is_none_or(|word| {
            word.find(|c: char| !c.is_ascii_alphanumeric() && c != '_')
                .is_some_and(|at| word[at..].starts_with('='))
        });
        let ours = given && name.chars().all(plain) && name.starts_with(|c: char| c.is_ascii_alphabetic());
        out.push_str(if ours { "{{\u{e000} " } else { "{{> " });
        rest = after;
    }
    out.push_str(rest);
    out
}

/// Renders a part.
pub(crate) struct Part;

impl HelperDef for Part {
    fn call<'reg: 'rc, 'rc>(
        &self,
        h: &Helper<'rc>,
        hb: &'reg Handlebars<'reg>,
        ctx: &'rc Context,
        rc: &mut RenderContext<'reg, 'rc>,
        out: &mut dyn Output,
    ) -> HelperResult {
        let name = h.param(0).and_then(|p| p.relative_path()).map(String::as_str).unwrap_or_default();
        let before = rc.get_current_template_name();
        if rc.is_current_template(name) {
            return Err(RenderErrorReason::CannotIncludeSelf.into());
        }
        let Some(part) = hb.get_template(name) else {
            return Err(RenderErrorReason::PartialNotFound(name.to_owned()).into());
        };
        let mut block = BlockContext::new();
        for (key, value) in h.hash() {
            known(value)?;
            block.set_block_param(key, BlockParamHolder::Value(value.value().clone()));
        }
        if let Some(around) = rc.block() {
            block.base_path_mut().clone_from(around.base_path());
            if let Some(value) = around.base_value() {
                block.set_base_value(value.clone());
            }
            block.local_variables_mut().clone_from(around.local_variables());
        }
        rc.push_block(block);
        let result = part.render(hb, ctx, rc, out);
        rc.pop_block();
        rc.set_current_template_name(before);
        result
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_plain_calls_are_ours() {
        for (text, ours) in [
            ("{{> parts/say}}", true),
            ("{{> parts/end-word a=b c=\"d e\"}}", true),
            ("{{> parts/say other}}", false),
            ("{{> parts/say ../of}}", false),
            ("{{> (lookup . \"x\")}}", false),
            ("{{#> parts/say}}{{/parts/say}}", false),
        ] {
            let made = named(text);
            assert_eq!(made != text, ours, "{text}");
            assert_eq!(made.chars().count(), text.chars().count(), "{text}");
        }
    }
}
