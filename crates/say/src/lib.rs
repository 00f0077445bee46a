//! The macros by which sentences are said: they take what `format!` takes, and make a [`shimwright_phrase::Phrase`].
//!
//! `say!("{photo} leaves the gap open by {u95:.2} mm")` is a phrase whose words are what `format!` gives, whose code is the template
//! `{photo} leaves the gap open by {u95}`, and which holds both values with their kinds. Crates that use it depend on
//! `shimwright-phrase` as well.

mod halves;

use proc_macro::TokenStream;
use proc_macro2::TokenStream as Tokens;
use quote::{format_ident, quote};
use shimwright_phrase::template::{self, Place, Template};
use syn::parse::{Parse, ParseStream};
use syn::{Expr, Ident, LitStr, Token, parse_macro_input};

/// What stands in the brackets of `say!`.
struct Sentence {
    format: LitStr,
    arguments: Vec<Given>,
}

/// An argument after the format string.
#[derive(Clone)]
struct Given {
    name: Option<Ident>,
    expression: Expr,
}

impl Parse for Sentence {
    fn parse(input: ParseStream) -> syn::Result<Self> {
        let format = input.parse()?;
        let mut arguments = Vec::new();
        while input.parse::<Option<Token![,]>>()?.is_some() && !input.is_empty() {
            let named = input.peek(Ident) && input.peek2(Token![=]) && !input.peek2(Token![==]);
            let name = if named {
                let name = input.parse()?;
                input.parse::<Token![=]>()?;
                Some(name)
            } else {
                None
            };
            arguments.push(Given {
                name,
                expression: input.parse()?,
            });
        }
        Ok(Self { format, arguments })
    }
}

/// A sentence or a part of one, by a format string and its arguments as `format!` takes them: a `Phrase`.
///
/// A value that has a kind of its own (`shimwright_phrase::Said`) keeps it; anything else that can be displayed is taken as
/// words that are the same in every language.
#[proc_macro]
pub fn say(input: TokenStream) -> TokenStream {
    let sentence = parse_macro_input!(input as Sentence);
    expand(&sentence)
        .unwrap_or_else(syn::Error::into_compile_error)
        .into()
}

/// Gives an error type of `thiserror` a function `halves`: what is wrong, and what to do, as phrases. They are the two parts of
/// each variant's message, which has `; ` between them.
#[proc_macro_derive(Halves)]
pub fn halves(input: TokenStream) -> TokenStream {
    let input = parse_macro_input!(input as syn::DeriveInput);
    halves::derive(&input)
        .unwrap_or_else(syn::Error::into_compile_error)
        .into()
}

fn expand(sentence: &Sentence) -> syn::Result<Tokens> {
    let format = &sentence.format;
    let Template { code, places } =
        template::of(&format.value()).map_err(|wrong| syn::Error::new(format.span(), wrong))?;
    // Each argument is worked out once, as `format!` does.
    let held: Vec<Ident> = (0..sentence.arguments.len())
        .map(|k| format_ident!("said_{k}"))
        .collect();
    let expressions = sentence.arguments.iter().map(|given| &given.expression);
    let handed_on = sentence
        .arguments
        .iter()
        .zip(&held)
        .map(|(given, held)| match &given.name {
            Some(name) => quote!(#name = #held),
            None => quote!(#held),
        });
    let mut values: Vec<(String, Tokens)> = Vec::new();
    for place in &places {
        if values.iter().all(|(name, _)| *name != place.name) {
            values.push((place.name.clone(), value(sentence, place, &held)?));
        }
    }
    let values = values.iter().map(|(name, value)| quote!((#name, #value)));
    Ok(quote! {
        match (#(&(#expressions),)*) {
            (#(#held,)*) => ::shimwright_phrase::Phrase::made(
                #code,
                ::std::format!(#format, #(#handed_on),*),
                ::std::vec![#(#values),*],
            ),
        }
    })
}

/// The value in a place.
fn value(sentence: &Sentence, place: &Place, held: &[Ident]) -> syn::Result<Tokens> {
    let by_name = |given: &Given| given.name.as_ref().is_some_and(|name| *name == place.name);
    let found = match place.name.parse::<usize>() {
        Ok(number) => held.get(number).cloned(),
        Err(_) => match sentence.arguments.iter().position(by_name) {
            Some(at) => held.get(at).cloned(),
            None => Some(Ident::new(&place.name, sentence.format.span())),
        },
    };
    let wrong = || {
        syn::Error::new(
            sentence.format.span(),
            format!("nothing is given for `{{{}}}`", place.name),
        )
    };
    let found = found.ok_or_else(wrong)?;
    if place.debug {
        return Ok(quote!(::shimwright_phrase::Value::text(
            ::std::format!("{:?}", #found)
        )));
    }
    let decimals = match place.how.decimals {
        Some(decimals) => quote!(::std::option::Option::Some(#decimals)),
        None => quote!(::std::option::Option::None),
    };
    let (signed, millimetres) = (place.how.signed, place.how.millimetres);
    Ok(quote!({
        #[allow(unused_imports)]
        use ::shimwright_phrase::{ViaDisplay as _, ViaSaid as _};
        (&::shimwright_phrase::Argument(&#found)).value(::shimwright_phrase::How {
            decimals: #decimals,
            signed: #signed,
            millimetres: #millimetres,
        })
    }))
}
