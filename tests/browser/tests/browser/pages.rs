//! Every page there is, once: what is asked of all pages is asked of this list.

use browser::{Browser, Outcome};

/// How a page is reached.
pub(crate) enum Way {
    /// By its address.
    Address(&'static str),
    /// By putting a text into the form of the first page.
    Brought(&'static str),
    /// By keeping a changed answer at the first address and swapping on to the second bench.
    Kept(&'static str, &'static str),
}

use Way::{Address, Brought, Kept};

/// Name and way of each page.
pub(crate) const PAGES: [(&str, Way); 26] = [
    ("start", Address("/")),
    ("start with nothing brought", Brought("")),
    ("start with a fault", Brought("name = \"x\"\n[frame.chart]\nreech = 440\n")),
    ("bench as it stands", Address("/bench?bike=moorhen")),
    ("bench that goes", Address("/bench?bike=heron&set.fork=tarn-140&adjust.stem_spacers=10+mm")),
    ("bench with extras", Address("/bench?bike=heron&set.cassette=oxbow-11s-11-42&rate=60")),
    ("bench that collides", Address("/bench?bike=heron&set.fork=tarn-150")),
    ("bench that is unsure", Address("/bench?bike=wheatear")),
    ("bench with the rider, imperial", Address("/bench?bike=heron&set.fork=tarn-150&pose=aboard&units=imperial")),
    ("choose", Address("/choose?bike=heron&slot=fork")),
    ("choose with nothing found", Address("/choose?bike=heron&slot=fork&find=balsa")),
    ("compare", Address("/compare?bike=heron&slot=fork&with=tarn-130&with=tarn-140&with=tarn-150")),
    ("compare with nothing ticked", Address("/compare?bike=heron&slot=fork")),
    ("form, blank", Address("/bike")),
    ("form of a bike", Address("/bike?bike=heron")),
    ("form with a fault", Brought("name = \"x\"\n[slots]\nframe = { chart = { reach = \"far\", stack = 600 } }\n")),
    ("write", Address("/write?bike=heron&set.fork=tarn-150")),
    ("write, kept and swapped on", Kept("bike=heron&set.fork=tarn-150", "/write?bike=heron&set.fork=tarn-140")),
    ("write, as it stands", Address("/write?bike=moorhen")),
    ("aloud", Address("/aloud?bike=heron&set.fork=tarn-140&adjust.stem_spacers=10+mm")),
    ("sheet with words", Kept("bike=heron&set.fork=tarn-150", "/sheet.html?bike=heron&set.fork=tarn-150")),
    ("for programs", Address("/api")),
    ("sheet", Address("/sheet.html?bike=heron&set.fork=tarn-150")),
    ("nothing there", Address("/nowhere")),
    ("no such bike", Address("/bench?bike=hern")),
    ("a part that is not there", Address("/bench?bike=heron&set.fork=tarn-15")),
];

/// Opens one of them.
pub(crate) async fn open(browser: &Browser, way: &Way) -> Outcome<()> {
    match way {
        Address(address) => browser.open(address).await,
        Brought(text) => {
            browser.open("/").await?;
            browser.find("#from-file summary").await?.click().await?;
            let field = browser.find("textarea[name=text]").await?;
            field.clear().await?;
            field.send_keys(text).await?;
            browser.find("form:has(textarea) button").await?.click().await?;
            browser.left("/").await
        }
        Kept(first, then) => {
            let address = format!("/write?{first}");
            browser.open(&address).await?;
            browser.find("textarea[name=text]").await?.send_keys("\n\nBring the bike back after 20 h of riding.").await?;
            browser.find("#writing button").await?.click().await?;
            browser.left(&address).await?;
            let kept = browser.address().await?;
            let text = kept.split_once("&text=").ok_or("nothing was kept")?.1;
            browser.open(&format!("{then}&text={text}")).await
        }
    }
}
