//! From the messages of an error type to what is wrong and what to do.

use crate::{Given, Sentence, expand};
use proc_macro2::{Ident, Literal, TokenStream as Tokens, TokenTree};
use quote::{format_ident, quote};
use shimwright_phrase::template;
use syn::{Data, DeriveInput, Fields, LitStr, Variant};

/// The function for an enum whose variants carry `#[error("what is wrong; what to do", …)]`.
pub fn derive(input: &DeriveInput) -> syn::Result<Tokens> {
    let Data::Enum(all) = &input.data else {
        return Err(syn::Error::new_spanned(
            input,
            "only an enum has a message for each variant",
        ));
    };
    let arms = all.variants.iter().map(arm).collect::<syn::Result<Vec<_>>>()?;
    let name = &input.ident;
    let (generics, of, bounds) = input.generics.split_for_impl();
    Ok(quote! {
        impl #generics #name #of #bounds {
            /// What is wrong, and what to do about it where the message says so.
            pub fn halves(&self) -> (::shimwright_phrase::Phrase, ::std::option::Option<::shimwright_phrase::Phrase>) {
                #[allow(unused_variables)]
                match self { #(#arms)* }
            }
        }
    })
}

fn arm(variant: &Variant) -> syn::Result<Tokens> {
    let said = variant
        .attrs
        .iter()
        .find(|attribute| attribute.path().is_ident("error"));
    let said = said.ok_or_else(|| syn::Error::new_spanned(variant, "this variant has no message"))?;
    let tokens: Vec<TokenTree> = said.meta.require_list()?.tokens.clone().into_iter().collect();
    let mut parts = tokens.split(|token| matches!(token, TokenTree::Punct(mark) if mark.as_char() == ','));
    let literal: Tokens = parts.next().unwrap_or_default().iter().cloned().collect();
    let literal: LitStr = syn::parse2(literal)?;
    let arguments = parts
        .filter(|part| !part.is_empty())
        .map(argument)
        .collect::<syn::Result<Vec<_>>>()?;
    let (wrong, mend) = template::split(&literal.value());
    let taken = places_without_name(&wrong);
    let (first, second) = arguments.split_at(taken.min(arguments.len()));
    let half = |format: &str, arguments: &[Given]| {
        expand(&Sentence {
            format: LitStr::new(format, literal.span()),
            arguments: arguments.to_vec(),
        })
    };
    let wrong = half(&wrong, first)?;
    let mend = match mend {
        Some(mend) => {
            let mend = half(&mend, second)?;
            quote!(::std::option::Option::Some(#mend))
        }
        None => quote!(::std::option::Option::None),
    };
    let name = &variant.ident;
    let fields = match &variant.fields {
        Fields::Named(named) => {
            let names = named.named.iter().map(|field| &field.ident);
            quote!({ #(#names),* })
        }
        Fields::Unnamed(unnamed) => {
            let names = (0..unnamed.unnamed.len()).map(|k| format_ident!("of_{k}"));
            quote!((#(#names),*))
        }
        Fields::Unit => quote!(),
    };
    Ok(quote!(Self::#name #fields => (#wrong, #mend),))
}

/// How many arguments without a name a format string takes.
fn places_without_name(format: &str) -> usize {
    let plain = format.replace("{{", "");
    plain.matches("{}").count() + plain.matches("{:").count()
}

/// An argument: `.field` is a field, as in the message.
fn argument(part: &[TokenTree]) -> syn::Result<Given> {
    let field = matches!(part.first(), Some(TokenTree::Punct(dot)) if dot.as_char() == '.');
    let own = part
        .iter()
        .skip(usize::from(field))
        .enumerate()
        .map(|(k, token)| match token {
            TokenTree::Literal(number) if field && k == 0 => TokenTree::Ident(numbered(number)),
            other => other.clone(),
        });
    Ok(Given {
        name: None,
        expression: syn::parse2(own.collect())?,
    })
}

fn numbered(number: &Literal) -> Ident {
    Ident::new(&format!("of_{number}"), number.span())
}
