"""The page of the document in a real browser: shown, tried out, and asking nobody else."""

import json

import pytest

pytestmark = pytest.mark.browser

WATCH = """
window.violations = [];
document.addEventListener("securitypolicyviolation", (one) =>
  window.violations.push(`${one.violatedDirective} ${one.blockedURI}`));
"""


@pytest.fixture
def page(chromium, site):
    """The opened page, with every request it made and every complaint it wrote."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    page = context.new_page()
    page.asked, page.wrong = [], []
    page.on("request", lambda request: page.asked.append(request.url))
    page.on("pageerror", lambda error: page.wrong.append(str(error)))
    page.on("console", lambda said: said.type == "error" and page.wrong.append(said.text))
    page.add_init_script(WATCH)
    page.goto(f"{site}/docs")
    page.wait_for_selector(".opblock")
    yield page
    context.close()


@pytest.mark.thorough
def test_the_document_is_shown_without_any_other_host(page, site):
    """Every operation is listed, with no request off the origin and none against the policy."""
    document = json.loads(page.request.get(f"{site}/v1/openapi.json").text())
    operations = sum(len(verbs) for verbs in document["paths"].values())
    assert page.locator(".opblock").count() == operations
    outside = [url for url in page.asked if not url.startswith((site, "data:", "blob:"))]
    assert not outside
    assert not page.wrong
    assert page.evaluate("window.violations") == []


@pytest.mark.thorough
def test_a_call_can_be_tried_out(page):
    """The page sends an example to the service and shows what came back."""
    page.click("#operations-One_roof-post-assemblies .opblock-summary-control")
    page.click("#operations-One_roof-post-assemblies .execute")
    shown = page.wait_for_selector(
        "#operations-One_roof-post-assemblies .live-responses-table tbody .response-col_status"
    )
    assert shown.inner_text().strip().startswith("200"), shown.inner_text()
    assert not page.wrong
    assert page.evaluate("window.violations") == []
