//! stub
use fallwise::Answers;
/// s
pub fn profile_svg(_: &Answers) -> String { String::from("<svg/>") }
/// s
pub fn page_html(_: &Answers) -> Result<String, std::fmt::Error> { Ok(String::from("<html/>")) }
/// s
pub fn summary(a: &Answers) -> String { a.sentence.clone() + "\n" + &a.next.as_ref().map(|n| n.sentence.clone()).unwrap_or_default() }
