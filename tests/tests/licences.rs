//! Licences and origins of everything that is built in, by the lists in `deny.toml`: crates and npm packages.

use serde::Deserialize;
use serde_json::Value;
use shimwright_tests::house;

/// The part of `deny.toml` that this check reads; cargo-deny, where it is installed, reads the whole.
#[derive(Deserialize)]
struct Rules {
    graph: Graph,
    licenses: Licenses,
    bans: Bans,
    sources: Sources,
}

#[derive(Deserialize)]
struct Graph {
    targets: Vec<String>,
}

#[derive(Deserialize)]
struct Licenses {
    allow: Vec<String>,
}

#[derive(Deserialize)]
struct Bans {
    deny: Vec<Ban>,
}

#[derive(Deserialize)]
struct Ban {
    #[serde(rename = "crate")]
    name: String,
    reason: String,
}

#[derive(Deserialize)]
struct Sources {
    #[serde(rename = "allow-registry")]
    allow_registry: Vec<String>,
}

impl Rules {
    fn read() -> Self {
        let text = std::fs::read_to_string(house::root().join("deny.toml")).expect("deny.toml can be read");
        toml::from_str(&text).expect("deny.toml has the lists")
    }

    /// What is wrong with a licence expression; `None` when one of the ways it may be met is allowed.
    fn licence_trouble(&self, expression: Option<&str>) -> Option<String> {
        let Some(expression) = expression else {
            return Some("states no licence".into());
        };
        // Lax, for the old habit of writing "MIT/Apache-2.0".
        match spdx::Expression::parse_mode(expression, spdx::ParseMode::LAX) {
            Ok(parsed) if parsed.evaluate(|one| self.licenses.allow.contains(&one.to_string())) => None,
            Ok(_) => Some(format!("licence {expression} is not allowed")),
            Err(error) => Some(format!("licence {expression:?} cannot be read: {}", error.reason)),
        }
    }

    /// What is wrong with a package of cargo's metadata.
    fn crate_trouble(&self, package: &Value) -> Option<String> {
        let name = package["name"].as_str().unwrap_or_default();
        if let Some(ban) = self.bans.deny.iter().find(|ban| ban.name == name) {
            return Some(format!("is banned: {}", ban.reason));
        }
        let origin = package["source"].as_str();
        let known = |origin: &str| {
            self.sources
                .allow_registry
                .iter()
                .any(|registry| origin == format!("registry+{registry}"))
        };
        match origin {
            Some(origin) if !known(origin) => Some(format!("comes from {origin}")),
            _ => self.licence_trouble(package["license"].as_str()),
        }
    }
}

#[test]
fn crates_are_licensed_and_come_from_the_registry() {
    let rules = Rules::read();
    let mut found = Vec::new();
    for target in &rules.graph.targets {
        let metadata = house::cargo_metadata(&["--all-features", "--filter-platform", target]);
        let packages = metadata["packages"].as_array().expect("a list of packages");
        assert!(
            packages.len() > 100,
            "only {} packages for {target}",
            packages.len()
        );
        found.extend(packages.iter().filter_map(|package| {
            let trouble = rules.crate_trouble(package)?;
            Some(format!("{} {}: {trouble}", package["name"], package["version"]))
        }));
    }
    found.sort();
    found.dedup();
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn npm_packages_are_licensed_and_come_from_the_registry() {
    let rules = Rules::read();
    let text = std::fs::read_to_string(house::root().join("ui/package-lock.json"))
        .expect("the lock file can be read");
    let lock: Value = serde_json::from_str(&text).expect("the lock file is JSON");
    let packages = lock["packages"].as_object().expect("a table of packages");
    assert!(packages.len() > 20, "only {} npm packages", packages.len());
    let found: Vec<String> = packages
        .iter()
        // The empty name is the page itself.
        .filter(|(name, _)| !name.is_empty())
        .filter_map(|(name, package)| {
            let origin = package["resolved"].as_str();
            let trouble = match origin {
                Some(origin) if !origin.starts_with("https://registry.npmjs.org/") => {
                    Some(format!("comes from {origin}"))
                }
                _ => rules.licence_trouble(package["license"].as_str()),
            }?;
            Some(format!("{name}: {trouble}"))
        })
        .collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn what_is_not_allowed_is_seen() {
    let rules = Rules::read();
    for (expression, allowed) in [
        ("MIT", true),
        ("MIT/Apache-2.0", true),
        ("GPL-3.0-only OR MIT", true),
        ("GPL-3.0-only", false),
        ("MIT AND GPL-2.0-or-later", false),
        ("Apache-2.0 WITH LLVM-exception", true),
        ("Look in the file", false),
    ] {
        assert_eq!(
            rules.licence_trouble(Some(expression)).is_none(),
            allowed,
            "{expression}"
        );
    }
    assert!(rules.licence_trouble(None).is_some());

    let package =
        |name: &str, source: Value| serde_json::json!({"name": name, "license": "MIT", "source": source});
    let registry = Value::from("registry+https://github.com/rust-lang/crates.io-index");
    assert_eq!(rules.crate_trouble(&package("serde", registry.clone())), None);
    assert_eq!(
        rules.crate_trouble(&package("shimwright-geom", Value::Null)),
        None
    );
    assert!(rules.crate_trouble(&package("openssl-sys", registry)).is_some());
    assert!(
        rules
            .crate_trouble(&package("serde", "git+https://example.org/serde".into()))
            .is_some()
    );
}
