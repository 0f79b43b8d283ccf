//! What a screen reader is told of each page: the browser's own accessibility tree, role and name a line.

use std::{collections::HashMap, fmt::Write as _};

use browser::{Browser, House, Outcome};
use serde_json::{Value, json};

use crate::pages::{PAGES, open};

/// Roles that are told. Text between them, cells and boxes without a name are left out.
const TOLD: [&str; 26] = [
    "RootWebArea",
    "alert",
    "banner",
    "button",
    "columnheader",
    "combobox",
    "complementary",
    "checkbox",
    "contentinfo",
    "DisclosureTriangle",
    "figure",
    "form",
    "heading",
    "image",
    "link",
    "main",
    "navigation",
    "radio",
    "region",
    "search",
    "searchbox",
    "slider",
    "status",
    "table",
    "textbox",
    "group",
];

pub(crate) async fn what_a_screen_reader_is_told(_: &House, browser: &Browser) -> Outcome<()> {
    for (name, way) in &PAGES {
        open(browser, way).await?;
        let tree = browser.devtools("Accessibility.getFullAXTree", json!({})).await?;
        let nodes = tree["nodes"].as_array().ok_or("no tree")?;
        let by_id: HashMap<&str, &Value> = nodes.iter().filter_map(|node| Some((node["nodeId"].as_str()?, node))).collect();
        let mut told = String::new();
        tell(nodes.first().ok_or("an empty tree")?, &by_id, 0, &mut told);
        insta::assert_snapshot!(name.replace([' ', ','], "_"), told);
    }
    Ok(())
}

fn tell(node: &Value, by_id: &HashMap<&str, &Value>, depth: usize, told: &mut String) {
    let role = node["role"]["value"].as_str().unwrap_or_default();
    let is_told = node["ignored"] != json!(true) && TOLD.contains(&role);
    if is_told {
        let name = node["name"]["value"].as_str().unwrap_or_default().replace('\u{a0}', " ");
        let level = node["properties"].as_array().into_iter().flatten().find(|it| it["name"] == "level");
        let level = level.map(|it| format!(" {}", it["value"]["value"])).unwrap_or_default();
        let _ = writeln!(told, "{:depth$}{role}{level} {name}", "", depth = 2 * depth);
    }
    let children = node["childIds"].as_array().into_iter().flatten().filter_map(Value::as_str);
    for child in children.filter_map(|id| by_id.get(id)) {
        tell(child, by_id, depth + usize::from(is_told), told);
    }
}
