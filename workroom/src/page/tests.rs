//! Tests of the page: what it shows, and who is turned away.

use super::*;
use axum::body::Body;
use axum::http::Request;
use tower::ServiceExt as _;

const DEMO: &str = include_str!("../../../fixtures/houses/heron-lane.json");

struct Page {
    folder: tempfile::TempDir,
    router: Router,
    token: String,
    host: String,
    cookie: String,
    house: Uuid,
    opening: Uuid,
}

fn page() -> Page {
    let folder = tempfile::tempdir().unwrap();
    let mut book = hangtrue_core::store::Book::open(&folder.path().join("a.book"), &mut moments::now).unwrap();
    let job = hangtrue_core::house::file::read(DEMO).unwrap();
    book.take_in(&job, "test", &mut moments::now).unwrap();
    let door = door::Door::beside(&folder.path().join("a.book"), "test").unwrap();
    let guard = guard::Guard::new(SocketAddr::from(([127, 0, 0, 1], 8417)), moments::now, door).unwrap();
    let (token, host, cookie) = (guard.token(), guard.host().to_owned(), guard.cookie());
    let opening = job.openings().find(|(_, one)| one.name == "East").unwrap().1.id;
    let (router, _) = router(Desk::new(book), Arc::new(guard), None);
    Page { folder, router, token, host, cookie, house: job.id, opening }
}

impl Page {
    async fn ask(&self, request: Request<Body>) -> (StatusCode, String) {
        let response = self.router.clone().oneshot(request).await.unwrap();
        let status = response.status();
        assert!(response.headers().contains_key(header::CONTENT_SECURITY_POLICY));
        let bytes = axum::body::to_bytes(response.into_body(), usize::MAX).await.unwrap();
        (status, String::from_utf8_lossy(&bytes).into_owned())
    }

    async fn get(&self, path: &str) -> (StatusCode, String) {
        let request = Request::get(path).header(header::HOST, &self.host).header(header::COOKIE, &self.cookie);
        self.ask(request.body(Body::empty()).unwrap()).await
    }

    async fn post(&self, path: &str, form: &str, origin: &str) -> (StatusCode, String) {
        let request = Request::post(path)
            .header(header::HOST, &self.host)
            .header(header::COOKIE, &self.cookie)
            .header(header::ORIGIN, origin)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        self.ask(request.body(Body::from(form.to_owned())).unwrap()).await
    }

    fn ours(&self) -> String {
        format!("http://{}", self.host)
    }

    /// The token in the door's file.
    fn door(&self) -> String {
        let file = self.folder.path().join("a.book.page-test").join("open.html");
        let text = std::fs::read_to_string(file).unwrap();
        text.split("value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned()
    }

    async fn enter(&self, token: &str) -> Response {
        let request = Request::post("/enter")
            .header(header::HOST, &self.host)
            // As a browser sends it from a file.
            .header(header::ORIGIN, "null")
            .header("sec-fetch-site", "cross-site")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(format!("token={token}")));
        self.router.clone().oneshot(request.unwrap()).await.unwrap()
    }
}

/// What a page says: its text without its tags.
fn words_of(html: &str) -> String {
    html.split('<').filter_map(|part| part.split_once('>')).map(|(_, words)| words).collect()
}

#[tokio::test]
async fn without_the_key_nothing_is_served_and_no_name_is_said() {
    let page = page();
    let house = format!("/house/{}", page.house);
    let wrong = [
        String::new(),
        page.cookie.to_uppercase(),
        page.cookie[..page.cookie.len() - 1].to_owned(),
        page.cookie.replacen("hangtrue_key", "key", 1),
        format!("hangtrue_key={}", page.token),
    ];
    let paths = ["/", &house, "/page.css", "/page.js", "/sheet.css", "/workroom", "/live", "/nowhere", "/enter"];
    for (path, cookie) in paths.iter().flat_map(|path| wrong.iter().map(move |cookie| (*path, cookie))) {
        for method in ["GET", "POST"] {
            if (method, path) == ("POST", "/enter") {
                continue;
            }
            let request = Request::builder().method(method).uri(path).header(header::HOST, &page.host);
            let request = request.header(header::COOKIE, cookie).body(Body::empty()).unwrap();
            let got = page.ask(request).await;
            assert_eq!(got, (StatusCode::UNAUTHORIZED, "Access key required.\n".to_owned()), "{method} {path}");
        }
    }
    // The names that others on this computer would try: every name but its own is turned away, with the key or without.
    for host in ["localhost:8417", "127.0.0.1:8417", "[::1]:8417", "evil.example:8417", "x.localhost:8417", ""] {
        let request = Request::get("/").header(header::HOST, host).header(header::COOKIE, &page.cookie);
        let got = page.ask(request.body(Body::empty()).unwrap()).await;
        assert_eq!(got, (StatusCode::MISDIRECTED_REQUEST, "Access key required.\n".to_owned()), "{host}");
    }
}

#[tokio::test]
async fn a_browser_comes_in_by_the_file_once_and_the_file_has_another_token_then() {
    let page = page();
    let first = page.door();
    assert_eq!(page.enter("").await.status(), StatusCode::FORBIDDEN);
    assert_eq!(page.enter(&page.token).await.status(), StatusCode::FORBIDDEN, "the token of forms is another");
    assert_eq!(page.door(), first, "a wrong token uses nothing up");
    let came = page.enter(&first).await;
    assert_eq!(came.status(), StatusCode::OK);
    let cookie = came.headers()[header::SET_COOKIE].to_str().unwrap().to_owned();
    for word in ["HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(cookie.contains(word), "{cookie}");
    }
    assert!(!cookie.contains("Domain"), "only for the one host: {cookie}");
    assert_eq!(cookie.split(';').next(), Some(page.cookie.as_str()));
    assert_eq!(page.enter(&first).await.status(), StatusCode::FORBIDDEN, "good once");
    assert_ne!(page.door(), first);
    assert_eq!(page.enter(&page.door()).await.status(), StatusCode::OK, "the file opens a second browser");
}

#[cfg(unix)]
#[test]
fn the_doors_file_is_for_its_owner_alone() {
    use std::os::unix::fs::PermissionsExt;
    let page = page();
    let folder = page.folder.path().join("a.book.page-test");
    for (path, mode) in [(folder.clone(), 0o700), (folder.join("open.html"), 0o600)] {
        assert_eq!(std::fs::metadata(&path).unwrap().permissions().mode() & 0o7777, mode, "{}", path.display());
    }
}

#[tokio::test]
async fn every_page_of_a_house_is_shown() {
    let page = page();
    let house = format!("/house/{}", page.house);
    assert!(page.get("/").await.1.contains("Heron Lane"));
    assert!(page.get(&house).await.1.contains("looks an inch long"));
    let (status, text) = page.get(&format!("{house}/opening/{}", page.opening)).await;
    assert_eq!(status, StatusCode::OK);
    assert!(words_of(&text).contains("35 7/8 would fit with the rest"), "the misread opening says so");
    for leaf in leaves::Leaf::ALL {
        let (status, text) = page.get(&format!("{house}/sheets/{}", leaf.name())).await;
        assert_eq!(status, StatusCode::OK, "{}", leaf.name());
        assert!(text.contains("class=\"sheet\""), "{}", leaf.name());
    }
    for path in ["leaving", "settings", "walk", "file"] {
        assert_eq!(page.get(&format!("{house}/{path}")).await.0, StatusCode::OK, "{path}");
    }
}

#[tokio::test]
async fn an_address_that_leads_nowhere_is_answered_in_plain_words_with_the_way_on() {
    let page = page();
    for path in ["/house/nonsense", "/house/nonsense/walk", &format!("/house/{}/opening/x", page.house), "/nowhere"] {
        let (status, text) = page.get(path).await;
        assert_eq!(status, StatusCode::NOT_FOUND, "{path}");
        let said = words_of(&text);
        assert!(said.contains("To the list of houses"), "{path}: {said}");
        assert!(!said.contains("form") && !said.to_lowercase().contains("uuid"), "{path}: {said}");
    }
}

#[tokio::test]
async fn every_tab_is_told_from_the_others_by_its_title() {
    let page = page();
    let house = format!("/house/{}", page.house);
    let opening = format!("{house}/opening/{}", page.opening);
    let mut paths = vec!["/".to_owned(), "/workroom".to_owned(), "/check".to_owned(), house.clone(), opening.clone()];
    paths.extend(["leaving", "settings", "walk"].map(|name| format!("{house}/{name}")));
    paths.extend(leaves::Leaf::ALL.map(|leaf| format!("{house}/sheets/{}", leaf.name())));
    paths.extend([format!("{opening}/note"), format!("{house}/sheets/making?opening={}", page.opening)]);
    let mut seen = std::collections::BTreeMap::new();
    for path in paths {
        let (_, text) = page.get(&path).await;
        let title = text.split("<title>").nth(1).unwrap().split("</title>").next().unwrap().to_owned();
        if let Some(other) = seen.insert(title.clone(), path.clone()) {
            panic!("{path} and {other} are both {title}");
        }
    }
}

/// The tokens of one set: those of the light one, with what follows `marker` laid over them.
fn tokens(marker: &str) -> std::collections::BTreeMap<String, String> {
    let css = hangtrue_core::sheet::TOKENS;
    let mut all = std::collections::BTreeMap::new();
    for from in [":root {", marker] {
        let (_, rest) = css.split_once(from).unwrap_or_else(|| panic!("no set {from}"));
        let block = rest.split('}').next().unwrap();
        for line in block.split(';') {
            if let Some((name, value)) = line.trim().strip_prefix("--").and_then(|line| line.split_once(':')) {
                all.insert(name.to_owned(), value.trim().to_owned());
            }
        }
    }
    all
}

/// The contrast of two colours, as WCAG counts it.
fn contrast(a: &str, b: &str) -> f64 {
    let light = |colour: &str| {
        let hex = colour.strip_prefix('#').unwrap_or_else(|| panic!("{colour} is no colour"));
        let hex: String = if hex.len() == 3 { hex.chars().flat_map(|c| [c, c]).collect() } else { hex.to_owned() };
        let parts = [0, 2, 4].map(|at| {
            let part = f64::from(u8::from_str_radix(&hex[at..at + 2], 16).unwrap()) / 255.0;
            if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
        });
        0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]
    };
    let (a, b) = (light(a), light(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn every_text_and_every_edge_stands_out_in_every_set_of_colours() {
    let texts = [
        ("ink", &["ground", "pane", "act-tint", "again-tint", "decide-tint", "glass"][..]),
        ("soft", &["ground", "pane", "act-tint", "again-tint", "decide-tint"]),
        ("act", &["ground", "pane", "act-tint"]),
        ("again", &["ground", "pane", "act-tint", "again-tint", "glass"]),
        ("decide", &["ground", "pane", "act-tint", "decide-tint"]),
        ("on-act", &["act"]),
    ];
    let sets = [
        (":root {", 4.5),
        ("(prefers-color-scheme: dark) {\n  :root {", 4.5),
        (":root[data-light=outdoors] {", 7.0),
        (".sheet, :root.paper {", 7.0),
        (":root, :root[data-light] {", 7.0),
    ];
    for (marker, least) in sets {
        let tokens = tokens(marker);
        for (text, grounds) in texts {
            for ground in grounds {
                let got = contrast(&tokens[text], &tokens[*ground]);
                assert!(got >= least, "{marker}: {text} on {ground} is {got:.2} to 1");
            }
        }
        for edge in ["edge", "focus"] {
            let got = contrast(&tokens[edge], &tokens["pane"]);
            assert!(got >= 3.0, "{marker}: {edge} on pane is {got:.2} to 1");
        }
    }
}

#[tokio::test]
async fn other_sites_and_forms_are_turned_away_and_change_nothing() {
    let page = page();
    let form = |token: &str| format!("token={token}&house={}&opening={}&why=again", page.house, page.opening);
    assert_eq!(page.post("/ask", &form(&page.token), "http://evil.example").await.0, StatusCode::FORBIDDEN);
    assert_eq!(page.post("/ask", &form("guess"), &page.ours()).await.0, StatusCode::FORBIDDEN);
    let opening = format!("/house/{}/opening/{}", page.house, page.opening);
    assert!(!page.get(&opening).await.1.contains("again</b>"));
    assert_eq!(page.post("/ask", &form(&page.token), &page.ours()).await.0, StatusCode::SEE_OTHER);
    assert!(page.get(&opening).await.1.contains("again"));
}

#[tokio::test]
async fn script_in_words_is_shown_as_words_and_paths_outside_are_not_there() {
    let page = page();
    let why = "%3Cscript%3Ealert(1)%3C%2Fscript%3E";
    let form = format!("token={}&house={}&opening={}&why={why}", page.token, page.house, page.opening);
    assert_eq!(page.post("/ask", &form, &page.ours()).await.0, StatusCode::SEE_OTHER);
    let (_, text) = page.get(&format!("/house/{}/opening/{}", page.house, page.opening)).await;
    assert!(text.contains("&lt;script&gt;alert(1)") && !text.contains("<script>alert(1)"));
    for path in ["/photo/..%2f..%2fetc%2fpasswd", "/sheets/x", "/house/not-an-id", "/%2e%2e/x"] {
        assert!(page.get(path).await.0.is_client_error(), "{path}");
    }
    let (status, text) =
        page.post("/take-in", &format!("token={}&text=%7B%22a%22%3A1%7D", page.token), &page.ours()).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(text.contains("hangtrue_job"), "{text}");
    let big = format!("token={}&text={}", page.token, "x".repeat(FORM_BYTES + 1));
    assert!(page.post("/take-in", &big, &page.ours()).await.0.is_client_error());
}

/// What a server on a real socket answers to a form of 3 MB, written in `pieces` with a pause after each.
fn answer_to_a_huge_form(pieces: usize, pause: Duration) -> std::io::Result<String> {
    use std::io::{Read as _, Write as _};
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build()?;
    let page = page();
    let listener = runtime.block_on(tokio::net::TcpListener::bind("127.0.0.1:0"))?;
    let address = listener.local_addr()?;
    let router = page.router.clone();
    runtime.spawn(async move { axum::serve(listener, router).await });
    let body = format!("token={}&text={}", page.token, "x".repeat(3_000_000));
    let mut line = std::net::TcpStream::connect(address)?;
    line.set_read_timeout(Some(Duration::from_secs(30)))?;
    write!(
        line,
        "POST /ask HTTP/1.1\r\nHost: {}\r\nCookie: {}\r\nOrigin: {}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n",
        page.host,
        page.cookie,
        page.ours(),
        body.len()
    )?;
    for piece in body.as_bytes().chunks(body.len().div_ceil(pieces)) {
        line.write_all(piece)?;
        std::thread::sleep(pause);
    }
    let mut said = String::new();
    line.read_to_string(&mut said)?;
    Ok(said)
}

#[test]
fn a_form_that_is_too_large_is_answered_however_fast_it_is_written() {
    for (pieces, pause) in [(1, 0), (30, 20), (3000, 0)] {
        let said = answer_to_a_huge_form(pieces, Duration::from_millis(pause))
            .unwrap_or_else(|error| panic!("{pieces} pieces: the answer did not arrive: {error}"));
        assert!(said.starts_with("HTTP/1.1 413 "), "{pieces} pieces: {}", &said[..said.len().min(200)]);
        assert!(said.contains("too large"), "{pieces} pieces: it does not say what is wrong: {said}");
    }
}
