//! The app asked in memory: a technician's way without a browser, and what is refused.

#![allow(clippy::unwrap_used, reason = "a test stops at the first thing that is not there")]

use std::{fmt::Write as _, sync::Arc};

use axum::{
    Router,
    body::{Body, to_bytes},
    http::{Request, Response, StatusCode, header},
};
use knowledge::Knowledge;
use server::{Workshop, app};
use stand::answer::{Answer, Fits, Verdict};
use tower::ServiceExt as _;

fn demo() -> Router {
    let workshop = Workshop::open(Knowledge::embedded().unwrap(), &[]).unwrap_or_else(|problems| panic!("{problems}"));
    app(Arc::new(workshop))
}

struct Got {
    status: StatusCode,
    kind: String,
    policy: String,
    place: Option<String>,
    bytes: Vec<u8>,
}

impl Got {
    fn text(&self) -> &str {
        std::str::from_utf8(&self.bytes).unwrap()
    }
}

async fn got(response: Response<Body>) -> Got {
    let of = |name| response.headers().get(name).map(|value| value.to_str().unwrap().to_owned());
    let (kind, policy, place) = (of(header::CONTENT_TYPE), of(header::CONTENT_SECURITY_POLICY), of(header::LOCATION));
    let status = response.status();
    let bytes = to_bytes(response.into_body(), 32 << 20).await.unwrap().to_vec();
    Got { status, kind: kind.unwrap_or_default(), policy: policy.unwrap_or_default(), place, bytes }
}

async fn get(app: &Router, address: &str) -> Got {
    let request = Request::get(address).body(Body::empty()).unwrap();
    got(app.clone().oneshot(request).await.unwrap()).await
}

async fn bring(app: &Router, text: &str) -> Got {
    let form: String = form_urlencoded::Serializer::new(String::new()).append_pair("text", text).finish();
    let request =
        Request::post("/stand").header(header::CONTENT_TYPE, "application/x-www-form-urlencoded").body(Body::from(form));
    got(app.clone().oneshot(request.unwrap()).await.unwrap()).await
}

#[tokio::test]
async fn the_first_page_offers_every_bike_and_each_of_them_stands() {
    let app = demo();
    let first = get(&app, "/").await;
    assert_eq!(first.status, StatusCode::OK);
    for bike in ["heron", "bittern", "fieldfare", "moorhen", "wheatear"] {
        assert!(first.text().contains(&format!("href=\"/bench?bike={bike}\"")), "{bike}");
        let bench = get(&app, &format!("/bench?bike={bike}")).await;
        assert_eq!(bench.status, StatusCode::OK, "{bike}: {}", bench.text());
    }
}

#[tokio::test]
async fn the_bench_the_live_parts_and_the_api_give_the_same_answer() {
    let app = demo();
    let query = "bike=heron&set.fork=tarn-150&adjust.stem_spacers=10+mm";
    let answer: Answer = serde_json::from_slice(&get(&app, &format!("/api/answer?{query}")).await.bytes).unwrap();
    assert_eq!(answer.verdict, Verdict::Unsafe);
    let headline = drawing::svg::escaped(&answer.headline);
    for path in ["/bench", "/bench/live", "/sheet.html"] {
        let page = get(&app, &format!("{path}?{query}")).await;
        assert_eq!(page.status, StatusCode::OK);
        assert!(page.text().contains(&headline), "{path}");
    }
}

/// The parts that follow a slider are the same however often they are asked for, and as wide as there is room.
#[tokio::test]
async fn what_is_remembered_is_what_was_worked_out() {
    let app = demo();
    let query = "/bench/live?bike=heron&set.fork=tarn-150&adjust.rider.mass=90+kg";
    let [first, again] = [get(&app, query).await, get(&app, query).await];
    assert_eq!((first.status, first.text(), &first.kind), (StatusCode::OK, again.text(), &again.kind));
    let [wide, narrow] = [get(&app, &format!("{query}&room=wide")).await, get(&app, &format!("{query}&room=narrow")).await];
    let has = |page: &Got, name: &str| page.text().contains(&format!("id=\"{name}-t\""));
    assert!(has(&first, "wide") && has(&first, "narrow"));
    assert!(has(&wide, "wide") && !has(&wide, "narrow") && !has(&narrow, "wide") && has(&narrow, "narrow"));
    let other = get(&app, &query.replace("90+kg", "60+kg")).await;
    assert_ne!(first.text(), other.text());
}

#[tokio::test]
async fn the_pose_and_the_units_are_part_of_the_address() {
    let app = demo();
    let bench = get(&app, "/bench?bike=heron&pose=aboard&units=imperial").await;
    assert!(bench.text().contains("with the rider aboard"));
    assert!(bench.text().contains("\u{a0}lb"), "the rider is told in pounds");
    assert!(bench.text().contains("/bench?bike=heron&amp;pose=aboard\""), "a way back to metric");
}

#[tokio::test]
async fn choosing_lists_what_could_go_there_and_words_narrow_the_list() {
    let app = demo();
    let all = get(&app, "/choose?bike=heron&slot=fork").await;
    assert!(all.text().contains("11 of 11 parts"), "{}", all.text());
    assert!(all.text().contains("/bench?bike=heron&amp;set.fork=tarn-140"));
    let some = get(&app, "/choose?bike=heron&slot=fork&find=tarn+140").await;
    assert!(some.text().contains("1 of 11 parts"));
    let none = get(&app, "/choose?bike=heron&slot=fork&find=balsa").await;
    assert!(none.text().contains("No part has all these words"));
    let fits: Fits = serde_json::from_slice(&get(&app, "/api/fits?bike=heron&slot=fork").await.bytes).unwrap();
    assert_eq!(fits.rows.len(), 11);
}

#[tokio::test]
async fn parts_stand_side_by_side_with_the_figures_of_each() {
    let app = demo();
    let page = get(&app, "/compare?bike=heron&slot=fork&with=tarn-140&with=tarn-150&with=tarn-140").await;
    assert_eq!(page.status, StatusCode::OK, "{}", page.text());
    for part in ["tarn-140", "tarn-150"] {
        let query = format!("bike=heron&set.fork={part}");
        assert!(page.text().contains(&format!("/bench?{}", query.replace('&', "&amp;"))));
        let answer: Answer = serde_json::from_slice(&get(&app, &format!("/api/answer?{query}")).await.bytes).unwrap();
        assert!(page.text().contains(&drawing::svg::escaped(&answer.headline)), "{part}");
    }
    assert_eq!(page.text().matches("Try this one").count(), 2);
    for (query, told) in [
        ("", "no part is ticked"),
        ("&with=tarn-130&with=tarn-140&with=tarn-150&with=beck-rigid&with=x", "5 parts are ticked"),
        ("&with=tarn-15", "did you mean `tarn-150`?"),
        ("&with=%3Cimg%3E", "there is no part"),
    ] {
        let refused = get(&app, &format!("/compare?bike=heron&slot=fork{query}")).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{query}");
        assert!(refused.text().contains(told), "{query}: {}", refused.text());
        assert!(!refused.text().contains("<img>"));
    }
}

/// A balloon of the drawing leads to where its part is chosen, in both drawings and while a slider moves.
#[tokio::test]
async fn a_part_is_chosen_through_its_balloon() {
    let app = demo();
    for (path, drawings) in [("/bench", 2), ("/bench/live", 2)] {
        let page = get(&app, &format!("{path}?bike=heron&set.fork=tarn-150")).await;
        let link = "<a href=\"/choose?bike=heron&amp;set.fork=tarn-150&amp;slot=fork\" aria-label=\"2, Fork: choose another\">";
        assert_eq!(page.text().matches(link).count(), drawings, "{path}");
    }
    let sheet = get(&app, "/sheet.html?bike=heron&set.fork=tarn-150").await;
    assert!(!sheet.text().contains("/choose"), "a sheet leads nowhere");
}

#[tokio::test]
async fn numbers_of_parts_can_be_tried() {
    let app = demo();
    let bench = get(&app, "/bench?bike=heron&set.stem=lintel-70&adjust.stem.length=75+mm").await;
    assert_eq!(bench.status, StatusCode::OK, "{}", bench.text());
    assert!(bench.text().contains("one like Lintel 70"));
    assert!(bench.text().contains("name=\"adjust.stem.length\" value=\"75 mm\""));
    // The field says it; nothing else of the form does.
    assert_eq!(bench.text().matches("name=\"adjust.stem.length\"").count(), 1);
}

#[tokio::test]
async fn a_bike_somebody_brings_goes_into_the_address_and_stands() {
    let app = demo();
    let heron = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../../demo/heron.toml")).unwrap();
    let brought = bring(&app, &heron.replace("Heron trail bike", "Brought <b>bike</b>").replace('\n', "\r\n")).await;
    assert_eq!(brought.status, StatusCode::SEE_OTHER, "{}", brought.text());
    let bench = get(&app, &brought.place.unwrap()).await;
    assert_eq!(bench.status, StatusCode::OK);
    assert!(bench.text().contains("Brought &lt;b&gt;bike&lt;/b&gt;"));
    assert!(!bench.text().contains("<b>bike</b>"));
}

/// The page of the form is a build to begin from, so it has to be one.
#[tokio::test]
async fn the_example_in_the_form_stands() {
    let app = demo();
    let first = get(&app, "/").await;
    let text = first.text().split("<textarea").nth(1).unwrap().split_once('>').unwrap().1.split("</textarea>").next().unwrap();
    let brought = bring(&app, &text.replace("&quot;", "\"")).await;
    assert_eq!(brought.status, StatusCode::SEE_OTHER, "{}", brought.text());
}

#[tokio::test]
async fn what_is_wrong_with_a_bike_is_told_beside_its_field_and_nothing_is_lost() {
    let app = demo();
    for (text, told) in [
        ("", "there is no bike in it"),
        ("name = \"x\"\n[frame.chart]\nreech = 440\n", "did you mean `reach`?"),
        ("name = \"x\"\n[frame.chart]\nreach = 440\n", "more numbers are needed"),
        ("name = \"<script>alert(1)</script>", "&lt;script&gt;"),
    ] {
        let page = bring(&app, text).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{text}");
        assert!(page.text().contains(told), "{text}: {}", page.text());
        assert!(page.text().contains(&drawing::svg::escaped(text).replace("&#39;", "'")), "{text}");
        assert!(!page.text().contains("<script>alert"));
    }
}

#[tokio::test]
async fn what_cannot_be_is_refused_with_words() {
    let app = demo();
    for (address, status, told) in [
        ("/bench", 422, "no bike is named"),
        ("/bench?bike=hern", 404, "did you mean `heron`?"),
        ("/bench?own=%25%25", 422, "the address is damaged"),
        ("/bench?bike=heron&set.fork=tarn-15", 422, "did you mean `tarn-150`?"),
        ("/bench?bike=heron&set.fark=tarn-150", 422, "fark"),
        ("/bench?bike=heron&adjust.stem_spacers=10+kg", 422, "given as a mass"),
        ("/bench?bike=heron&rate=much", 422, "cannot be `much`"),
        ("/bench?bike=heron&keep=wing", 422, "wing"),
        ("/choose?bike=heron&slot=wing", 422, "wing"),
        ("/choose?bike=heron", 422, "place on a bicycle"),
        ("/api/fits?bike=heron", 422, "`slot` is not said"),
        ("/../../etc/passwd", 404, "nothing at this address"),
        ("/nowhere", 404, "nothing at this address"),
    ] {
        let page = get(&app, address).await;
        assert_eq!(page.status.as_u16(), status, "{address}");
        assert!(page.text().contains(told), "{address}: {}", page.text());
    }
}

/// Whatever a key or a value says, it is shown as text or not at all.
#[tokio::test]
async fn nothing_in_an_address_becomes_markup() {
    let app = demo();
    let evil = "%22%3E%3Cimg+src%3Dx+onerror%3Dalert(1)%3E";
    for address in [
        format!("/bench?bike={evil}"),
        format!("/bench?bike=heron&set.fork={evil}"),
        format!("/bench?bike=heron&set.{evil}=tarn-150"),
        format!("/bench?bike=heron&adjust.{evil}=1"),
        format!("/bench?bike=heron&adjust.stem_spacers={evil}"),
        format!("/bench?bike=heron&off={evil}&keep={evil}&rate={evil}"),
        format!("/choose?bike=heron&slot=fork&find={evil}"),
        format!("/choose?bike=heron&slot={evil}"),
    ] {
        let page = get(&app, &address).await;
        assert!(page.status.as_u16() < 500, "{address}");
        assert!(!page.text().contains("<img"), "{address}");
    }
}

#[tokio::test]
async fn files_are_what_they_say() {
    let app = demo();
    let query = "bike=heron&set.fork=tarn-140";
    for (path, kind, begins) in [
        ("/sheet.html", "text/html; charset=utf-8", &b"<!DOCTYPE html>"[..]),
        ("/sheet.pdf", "application/pdf", b"%PDF-"),
        ("/drawing.svg", "image/svg+xml", b"<svg "),
        ("/drawing.png", "image/png", b"\x89PNG\r\n"),
        ("/card.svg", "image/svg+xml", b"<svg "),
        ("/card.png", "image/png", b"\x89PNG\r\n"),
        ("/animation.svg", "image/svg+xml", b"<svg "),
        ("/animation.png", "image/png", b"\x89PNG\r\n"),
    ] {
        let file = get(&app, &format!("{path}?{query}")).await;
        assert_eq!((file.status, file.kind.as_str()), (StatusCode::OK, kind), "{path}");
        assert!(file.bytes.starts_with(begins), "{path}");
        let is_linked = get(&app, &format!("/bench?{query}")).await.text().contains(&format!("href=\"{path}?"));
        assert!(is_linked, "{path} is not on the bench");
        if kind == "image/svg+xml" {
            // Opened by itself it has its own style and runs nothing.
            assert!(file.policy.starts_with("default-src 'none'; style-src 'unsafe-inline'"), "{path}: {}", file.policy);
            assert!(!file.policy.contains("script-src") && !file.text().contains("<script"), "{path}");
        }
    }
}

#[tokio::test]
async fn cards_and_animations_come_on_dark_paper_and_in_either_pose() {
    let app = demo();
    for path in ["/card.svg", "/animation.svg"] {
        let of = |more: &str| {
            let (app, address) = (app.clone(), format!("{path}?bike=heron&set.fork=tarn-150{more}"));
            async move { get(&app, &address).await.text().to_owned() }
        };
        let (light, dark, aboard, inches) =
            (of("").await, of("&paper=dark").await, of("&pose=aboard").await, of("&units=imperial").await);
        assert!(light.contains(&drawing::ink::LIGHT.paper.to_string()) && !light.contains(&drawing::ink::DARK.paper.to_string()));
        assert!(dark.contains(&drawing::ink::DARK.paper.to_string()), "{path}");
        assert_ne!(light, aboard, "{path}");
        assert!(inches.contains("\u{a0}in<"), "{path}");
        assert_eq!(of("&paper=plaid").await, light, "{path}: what is not known is passed over");
    }
}

#[tokio::test]
async fn a_card_of_a_bike_that_is_not_there_is_a_mistake_on_a_page() {
    let app = demo();
    for path in ["/card.svg", "/card.png", "/animation.svg", "/animation.png"] {
        let page = get(&app, &format!("{path}?bike=unicorn")).await;
        assert!(page.status.is_client_error() && page.kind.starts_with("text/html"), "{path}: {}", page.status);
    }
}

/// Pages run no script and take no style but the program's own, and none needs one inside it.
#[tokio::test]
async fn every_page_keeps_to_its_policy() {
    let app = demo();
    for address in ["/", "/bench?bike=heron&set.fork=tarn-150", "/choose?bike=heron&slot=fork", "/nowhere"] {
        let page = get(&app, address).await;
        assert!(page.policy.contains("script-src 'self'") && !page.policy.contains("unsafe"), "{address}");
        for banned in [" style=\"", "<style", " onclick", "javascript:"] {
            assert!(!page.text().contains(banned), "{address}: {banned}");
        }
        assert_eq!(page.text().matches("<script").count(), 1, "{address}");
    }
    assert!(get(&app, "/sheet.html?bike=heron").await.policy.contains("default-src 'none'"));
}

#[tokio::test]
async fn a_body_that_is_too_long_is_refused() {
    let app = demo();
    let mut long = String::new();
    for line in 0..100_000 {
        let _ = writeln!(long, "# {line}");
    }
    assert_eq!(bring(&app, &long).await.status, StatusCode::PAYLOAD_TOO_LARGE);
}

async fn post(app: &Router, address: &str, text: &str) -> Got {
    let form: String = form_urlencoded::Serializer::new(String::new()).append_pair("text", text).finish();
    let request = Request::post(address).header(header::CONTENT_TYPE, "application/x-www-form-urlencoded").body(Body::from(form));
    got(app.clone().oneshot(request.unwrap()).await.unwrap()).await
}

/// What stands in the text field, as somebody sees it.
fn field(page: &str) -> String {
    let text = page.split("<textarea").nth(1).unwrap().split_once('>').unwrap().1.split("</textarea>").next().unwrap();
    text.trim_start_matches('\n').replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
}

#[tokio::test]
async fn an_answer_is_written_kept_and_follows_another_swap() {
    let app = demo();
    let query = "bike=heron&set.fork=tarn-140";
    let page = get(&app, &format!("/write?{query}")).await;
    assert_eq!(page.status, StatusCode::OK, "{}", page.text());
    let draft = field(page.text());
    assert!(draft.contains("(#change.reach)"), "{draft}");

    // Keeping the draft as it is keeps nothing.
    let same = post(&app, &format!("/write?{query}"), &draft.replace('\n', "\r\n")).await;
    assert_eq!((same.status, same.place.as_deref()), (StatusCode::SEE_OTHER, Some("/write?bike=heron&set.fork=tarn-140")));

    let mine = "Dear <b>rider</b>, reach shrinks by [5.0\u{a0}mm](#change.reach); lift the saddle 3 mm.";
    let kept = post(&app, &format!("/write?{query}"), &draft.replacen("It goes, but it takes something more.", mine, 1)).await;
    let place = kept.place.unwrap();
    let page = get(&app, &place).await;
    assert!(page.text().contains("Dear &lt;b&gt;rider&lt;/b&gt;"), "{}", page.text());
    assert!(page.text().contains("Of your own, not the answer's: 3 mm"));

    // On the sheet it stands in place of the summary; another fork brings another number, marked where it is written.
    let sheet = get(&app, &place.replace("/write", "/sheet.html")).await;
    assert!(sheet.text().contains("Dear &lt;b&gt;rider"));
    assert!(!sheet.text().contains("<mark"));
    let other = get(&app, &place.replace("tarn-140", "tarn-150")).await;
    assert!(other.text().contains("<mark>10.0\u{a0}mm</mark>"), "{}", other.text());
    assert!(other.text().contains("reads differently now"));
    let aloud = get(&app, &format!("{}&pace=120", place.replace("/write", "/aloud"))).await;
    assert!(aloud.text().contains("5.0 millimetres"), "{}", aloud.text());
    assert!(aloud.text().contains("value=\"120\""));
}

#[tokio::test]
async fn a_text_that_is_damaged_or_too_long_is_refused_and_a_preview_does_nothing() {
    let app = demo();
    for address in ["/write?bike=heron&text=%25", "/sheet.html?bike=heron&text=AAAA", "/bench?bike=heron&text=abc"] {
        let page = get(&app, address).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{address}");
        assert!(page.text().contains("the address is damaged"), "{address}");
    }
    let long = post(&app, "/write?bike=heron", &"long ".repeat(60_000)).await;
    assert_eq!(long.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(long.text().contains("too long"));
    let evil =
        "<script>alert(1)</script>\n\n[x](javascript:alert(1)) ![](https://example.org/x.png) <img src=x onerror=alert(1)>";
    let preview = post(&app, "/write/preview?bike=heron", evil).await;
    assert_eq!(preview.status, StatusCode::OK);
    for banned in ["<script", "<img", "href=\"javascript", "src=\"http"] {
        assert!(!preview.text().contains(banned), "{banned}: {}", preview.text());
    }
}
