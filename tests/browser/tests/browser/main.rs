//! Tests in a real browser. They share one server, one driver and as many browsers as run at once, so this program is the harness too.

mod address;
mod audit;
mod keyboard;
mod pages;
mod print;
mod spoken;
mod way;
mod width;
mod without_script;

use std::{process::ExitCode, sync::Arc, sync::OnceLock};

use browser::{Browser, House, Outcome};
use libtest_mimic::{Arguments, Failed, Trial};

/// Started by the first test that is run, so that a list of tests needs no browser.
type Shared = Arc<OnceLock<Result<House, String>>>;

fn trial(name: &'static str, shared: &Shared, test: impl AsyncFnOnce(&House, &Browser) -> Outcome<()> + Send + 'static) -> Trial {
    let shared = Arc::clone(shared);
    Trial::test(name, move || {
        let house = shared.get_or_init(|| House::open().map_err(|fault| fault.to_string())).as_ref()?;
        let visit = house.visit(name, env!("CARGO_TARGET_TMPDIR"), async |browser: &Browser| test(house, browser).await);
        visit.map_err(|fault| Failed::from(fault.to_string()))
    })
}

macro_rules! trials {
    ($shared:expr; $($room:ident::$test:ident),* $(,)?) => {
        vec![$(trial(concat!(stringify!($room), "::", stringify!($test)), $shared, $room::$test)),*]
    };
}

fn main() -> ExitCode {
    let shared = Shared::default();
    let trials = trials![&shared;
        audit::no_page_breaks_a_rule_in_the_light,
        audit::no_page_breaks_a_rule_in_the_dark,
        way::from_a_bike_of_the_demo_to_a_sheet,
        way::from_an_empty_stand_to_sheet_and_card,
        way::a_bike_goes_into_a_file_and_comes_back_from_it,
        without_script::the_same_way_with_forms_and_links,
        without_script::a_bike_of_ones_own_with_the_form_alone,
        keyboard::the_same_way_without_a_mouse,
        keyboard::every_page_lets_the_focus_through_in_its_order_and_shows_it,
        keyboard::the_first_link_leads_past_what_repeats,
        spoken::what_a_screen_reader_is_told,
        width::no_page_scrolls_sideways,
        width::no_page_scrolls_sideways_with_text_twice_as_large,
        address::a_copied_link_is_the_same_bench,
        address::back_and_forward_bring_verdict_and_slider_back,
        print::bench_and_sheet_go_on_few_pages_without_what_is_for_the_screen,
    ];
    libtest_mimic::run(&Arguments::from_args(), trials).exit_code()
}
