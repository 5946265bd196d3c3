//! Tests of the page: what it shows, and who is turned away.

use super::*;
use axum::body::Body;
use axum::http::Request;
use tower::ServiceExt as _;

const DEMO: &str = include_str!("../../../fixtures/houses/heron-lane.json");

struct Page {
    _folder: tempfile::TempDir,
    router: Router,
    token: String,
    house: Uuid,
    opening: Uuid,
}

fn page() -> Page {
    let folder = tempfile::tempdir().unwrap();
    let mut book = hangtrue_core::store::Book::open(&folder.path().join("a.book"), &mut moments::now).unwrap();
    let job = hangtrue_core::house::file::read(DEMO).unwrap();
    book.take_in(&job, "test", &mut moments::now).unwrap();
    let guard = guard::Guard::new(SocketAddr::from(([127, 0, 0, 1], 8417)), moments::now, false);
    let token = guard.token();
    let opening = job.openings().find(|(_, one)| one.name == "East").unwrap().1.id;
    Page { _folder: folder, router: router(Desk::new(book), guard, None), token, house: job.id, opening }
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
        self.ask(Request::get(path).header(header::HOST, "localhost:8417").body(Body::empty()).unwrap()).await
    }

    async fn post(&self, path: &str, form: &str, origin: &str) -> (StatusCode, String) {
        let request = Request::post(path)
            .header(header::HOST, "localhost:8417")
            .header(header::ORIGIN, origin)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
        self.ask(request.body(Body::from(form.to_owned())).unwrap()).await
    }
}

const OURS: &str = "http://localhost:8417";

#[tokio::test]
async fn every_page_of_a_house_is_shown() {
    let page = page();
    let house = format!("/house/{}", page.house);
    assert!(page.get("/").await.1.contains("Heron Lane"));
    assert!(page.get(&house).await.1.contains("looks an inch long"));
    let (status, text) = page.get(&format!("{house}/opening/{}", page.opening)).await;
    assert_eq!(status, StatusCode::OK);
    assert!(text.contains("35 7/8 would fit with the rest"), "the misread opening says so");
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
async fn other_hosts_sites_and_forms_are_turned_away_and_change_nothing() {
    let page = page();
    let rebound = Request::get("/").header(header::HOST, "evil.example:8417").body(Body::empty()).unwrap();
    assert_eq!(page.ask(rebound).await.0, StatusCode::MISDIRECTED_REQUEST);
    let form = |token: &str| format!("token={token}&house={}&opening={}&why=again", page.house, page.opening);
    assert_eq!(page.post("/ask", &form(&page.token), "http://evil.example").await.0, StatusCode::FORBIDDEN);
    assert_eq!(page.post("/ask", &form("guess"), OURS).await.0, StatusCode::FORBIDDEN);
    let opening = format!("/house/{}/opening/{}", page.house, page.opening);
    assert!(!page.get(&opening).await.1.contains("again</b>"));
    assert_eq!(page.post("/ask", &form(&page.token), OURS).await.0, StatusCode::SEE_OTHER);
    assert!(page.get(&opening).await.1.contains("again"));
}

#[tokio::test]
async fn script_in_words_is_shown_as_words_and_paths_outside_are_not_there() {
    let page = page();
    let why = "%3Cscript%3Ealert(1)%3C%2Fscript%3E";
    let form = format!("token={}&house={}&opening={}&why={why}", page.token, page.house, page.opening);
    assert_eq!(page.post("/ask", &form, OURS).await.0, StatusCode::SEE_OTHER);
    let (_, text) = page.get(&format!("/house/{}/opening/{}", page.house, page.opening)).await;
    assert!(text.contains("&lt;script&gt;alert(1)") && !text.contains("<script>alert(1)"));
    for path in ["/photo/..%2f..%2fetc%2fpasswd", "/sheets/x", "/house/not-an-id", "/%2e%2e/x"] {
        assert!(page.get(path).await.0.is_client_error(), "{path}");
    }
    let (status, text) = page.post("/take-in", &format!("token={}&text=%7B%22a%22%3A1%7D", page.token), OURS).await;
    assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(text.contains("hangtrue_job"), "{text}");
    let big = format!("token={}&text={}", page.token, "x".repeat(FORM_BYTES + 1));
    assert!(page.post("/take-in", &big, OURS).await.0.is_client_error());
}
