//! The plan of every demo that has one: its labels keep off each other and in the picture.

#![allow(clippy::unwrap_used, reason = "the helpers of a test may panic as the test may")]

use std::path::Path;

use fallwise::{Answers, Lateral, Rulebook};
use fallwise_report::Report;
use roxmltree::{Document, Node};

/// Every demo by its name, in order.
fn demos() -> Vec<(String, Answers)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples/demos");
    let mut names: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    names.retain(|path| path.join("job.toml").is_file());
    names.sort();
    let solved = |path: &Path| {
        let job = fallwise_files::job::read(&path.join("job.toml")).unwrap().job;
        let book = job.rules.rulebook.clone().map(|name| Rulebook::shipped(&name).unwrap());
        Lateral::solve(job).unwrap().answers(book.as_ref()).unwrap()
    };
    names.iter().map(|path| (path.display().to_string(), solved(path))).collect()
}

fn number(node: Node, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

/// A text's left, right, top and bottom. Half an em a character is less than the common fonts need, so that texts called
/// overlapping do overlap.
fn area(node: Node) -> (f64, f64, f64, f64) {
    let size = match node.attribute("class").unwrap() {
        class if class.contains("fw-title") => 18.0,
        class if class.contains("fw-lead") => 13.0,
        class if class.contains("fw-small") => 10.5,
        _ => 11.5,
    };
    let wide = 0.5 * size * node.text().unwrap_or_default().chars().count() as f64;
    let left = match node.attribute("text-anchor").unwrap() {
        "middle" => number(node, "x") - 0.5 * wide,
        "end" => number(node, "x") - wide,
        _ => number(node, "x"),
    };
    (left, left + wide, number(node, "y") - 0.72 * size, number(node, "y") + 0.2 * size)
}

#[test]
fn plans_of_the_demos_are_readable() {
    let mut plans = 0;
    for (name, answers) in demos() {
        let determined = answers.path.iter().any(|row| row.east_m.is_some());
        let Some(svg) = Report::new(&answers).plan_svg() else {
            assert!(!determined, "{name} has a plan");
            continue;
        };
        assert!(determined, "{name} has no plan");
        plans += 1;
        let document = Document::parse(&svg).unwrap();
        let root = document.root_element();
        let size: Vec<f64> = root.attribute("viewBox").unwrap().split(' ').map(|s| s.parse().unwrap()).collect();
        let texts: Vec<Node> = document.descendants().filter(|n| n.has_tag_name("text")).collect();
        for (i, text) in texts.iter().enumerate() {
            let (left, right, top, bottom) = area(*text);
            let told = text.text().unwrap_or_default();
            assert!(left >= 0.0 && right <= size[2] && top >= 0.0 && bottom <= size[3], "{name}: {told} leaves it");
            for other in &texts[i + 1..] {
                let (l, r, t, b) = area(*other);
                let apart = right <= l || r <= left || bottom <= t || b <= top;
                assert!(apart, "{name}: {told} over {}", other.text().unwrap_or_default());
            }
        }
        assert!(svg.contains("Invented example"), "{name}");
    }
    assert!(plans > 0, "no demo has a plan");
}
