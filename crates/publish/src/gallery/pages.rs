//! The pages of the gallery: the wall, and one for each print. They work without scripts.

use super::iiif::{OURS, facts};
use super::language::attributes;
use super::{Picture, Shown, Site};
use crate::text::escape;

/// Pixels a millimetre has on the wall of a wide screen at most: four square prints side by side. As the style sheet has it.
const WALL: f64 = 2.8;

/// The wall: every print at one scale, in order.
pub fn index(site: &Site, shown: &[Shown]) -> String {
    let items: String = shown.iter().map(item).collect();
    let prints = if shown.len() == 1 { "1 print".into() } else { format!("{} prints", shown.len()) };
    let body = format!(
        "<a class=\"skip\" href=\"#prints\">To the prints</a>\n<header><h1{about}>{title}</h1><p>{prints}, all at one scale.</p></header>\n\
         <main id=\"prints\">\n<ol class=\"wall\">\n{items}</ol>\n</main>\n\
         <footer><p>For other viewers: <a href=\"manifest.json\">the IIIF manifest</a>.</p></footer>\n",
        title = escape(&site.title),
        about = attributes(&site.title),
    );
    html("", &site.title, &site.title, "", &body)
}

fn item(shown: &Shown) -> String {
    let date = dates::says(&shown.said.words.date);
    let date = if date.is_empty() { date } else { format!(" <span lang=\"en\">{}</span>", escape(&date)) };
    let width = shown.front.mm()[0];
    let image = image(
        &shown.front,
        "",
        &format!("{:.0}px", width * WALL),
        &shown.said.alt,
        &format!("loading=\"lazy\"{}", shown.alt_attributes()),
    );
    format!(
        "<li style=\"--w:{width:.1}\"><a href=\"prints/{name}.html\">{image}</a><p{about}>{title}{date}</p></li>\n",
        name = shown.plate.name,
        title = escape(shown.title()),
        about = shown.title_attributes(),
    )
}

/// The page of print `i`.
pub fn page(site: &Site, shown: &[Shown], i: usize) -> String {
    let this = &shown[i];
    let near = |step: isize, word: &str, rel: &str| {
        let other = i.checked_add_signed(step).and_then(|j| shown.get(j));
        other.map_or_else(
            || format!("<span>{word}</span>"),
            |o| {
                format!(
                    "<a rel=\"{rel}\" href=\"{}.html\">{word}<span class=\"far\">: <bdi{}>{}</bdi></span></a>",
                    o.plate.name,
                    o.title_attributes(),
                    escape(o.title())
                )
            },
        )
    };
    let back = this.back.as_ref().map_or_else(String::new, |back| {
        let alt = format!("The back of {}.", this.title());
        format!(
            "<section aria-labelledby=\"back\"><h2 id=\"back\">Back</h2>\n{}</section>\n",
            figure(back, &alt, "loading=\"lazy\"")
        )
    });
    let list: String = facts(this)
        .iter()
        .map(|(k, v)| {
            let about = if OURS.contains(k) || *k == "Number" { String::new() } else { attributes(v) };
            format!("<div><dt>{k}</dt><dd{about}>{}</dd></div>\n", escape(v))
        })
        .collect();
    let rights = &this.said.words.rights;
    let rights = if rights.is_empty() {
        String::new()
    } else {
        format!("<p class=\"rights\"{}>{}</p>\n", attributes(rights), escape(rights))
    };
    let body = format!(
        "<a class=\"skip\" href=\"#print\">To the print</a>\n\
         <nav aria-label=\"Prints\"><a rel=\"up\" href=\"../index.html\"{about}>{site}</a> {before} <span class=\"place\">{n} of {of}</span> {after}</nav>\n\
         <main id=\"print\">\n{front}<div class=\"words\"><h1{of_title}>{title}</h1>\n<dl>{list}</dl>\n{rights}</div>\n{back}</main>\n",
        site = escape(&site.title),
        about = attributes(&site.title),
        of_title = this.title_attributes(),
        before = near(-1, "Before", "prev"),
        after = near(1, "After", "next"),
        n = i + 1,
        of = shown.len(),
        front = figure(&this.front, &this.said.alt, &format!("fetchpriority=\"high\"{}", this.alt_attributes())),
        title = escape(this.title()),
    );
    html("../", &format!("{}: {}", this.title(), site.title), &this.said.alt, "print", &body)
}

/// A print large on its page; a click without a script opens the whole picture.
fn figure(picture: &Picture, alt: &str, more: &str) -> String {
    let [w, h] = picture.size;
    let [mm_w, mm_h] = picture.mm();
    let sizes = format!("min(94vw, {:.0}vh)", 74.0 * w as f64 / h as f64);
    let levels = picture.levels().len();
    format!(
        "<figure data-base=\"../iiif/{name}\" data-size=\"{w} {h}\" data-levels=\"{levels}\" data-tile=\"{tile}\" data-mm=\"{mm_w:.3} {mm_h:.3}\">\
         <a href=\"../iiif/{name}/full/max/0/default.jpg\">{image}</a></figure>\n",
        name = picture.name,
        tile = super::TILE,
        image = image(picture, "../", &sizes, alt, more),
    )
}

/// A picture in all its sizes but the largest, which is for going close.
fn image(picture: &Picture, up: &str, sizes: &str, alt: &str, more: &str) -> String {
    let levels = picture.levels();
    let [w, h] = picture.size;
    let address = |level: usize| format!("{up}iiif/{}/{}", picture.name, picture.whole(level));
    // 3000 px fill a screen of twice the usual fineness.
    let large = |level: &usize| levels[*level].into_iter().max().is_some_and(|n| n > 3000);
    let shown: Vec<usize> = (0..levels.len()).skip_while(large).collect();
    // A comma inside an address is no parting one: that is followed by a space.
    let set: Vec<String> = shown.iter().rev().map(|n| format!("{} {}w", address(*n), levels[*n][0])).collect();
    // Where nothing chooses among the sizes: one of about a thousand pixels.
    let usual = shown.iter().rev().find(|n| levels[**n].into_iter().max().is_some_and(|n| n >= 900));
    let plain = usual.or(shown.first()).copied().unwrap_or(0);
    format!(
        "<img src=\"{}\" srcset=\"{}\" sizes=\"{sizes}\" width=\"{w}\" height=\"{h}\" alt=\"{}\" {more} decoding=\"async\">",
        address(plain),
        set.join(", "),
        escape(alt),
    )
}

fn html(up: &str, title: &str, about: &str, class: &str, body: &str) -> String {
    format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta name=\"color-scheme\" content=\"light dark\">\n<title>{}</title>\n<meta name=\"description\" content=\"{}\">\n\
         <link rel=\"icon\" href=\"data:,\">\n<link rel=\"stylesheet\" href=\"{up}look/look.css\">\n</head>\n<body class=\"{class}\">\n{body}\
         <script src=\"{up}look/look.js\" defer></script>\n</body>\n</html>\n",
        escape(title),
        escape(about),
    )
}
