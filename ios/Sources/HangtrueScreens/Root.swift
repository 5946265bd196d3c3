// The whole of what is drawn: the core says which screen it is. Read this first.
import Accessibility
import HangtrueState
import SwiftUI

/// Draws the screen that the core shows; `outside` is the device around it.
public struct Root: View {
    @EnvironmentObject private var watched: Watched
    private let outside: any Outside

    /// The app's only view; it wants a `Watched` in its environment.
    public init(outside: any Outside) {
        self.outside = outside
    }

    public var body: some View {
        let state = watched.state
        let look = Look.of(state.screen?.theme)
        ZStack {
            look.ground.color.ignoresSafeArea()
            shown(state)
        }
        .environment(\.look, look)
        .tint(look.strong.color)
        // both palettes are light: the system's own parts follow them
        .preferredColorScheme(.light)
        .onChange(of: state.said) { _, said in AccessibilityNotification.Announcement(said.words).post() }
        .accessibilityAction(.escape) { state.back() }
        .simultaneousGesture(DragGesture(minimumDistance: 40).onEnded { drag in
            if drag.startLocation.x < 24, drag.translation.width > 80, state.canGoBack { state.back() }
        })
    }

    @ViewBuilder
    private func shown(_ state: WalkState) -> some View {
        if let screen = state.screen {
            switch screen.shown {
            case .houses(let houses): HousesPage(screen: screen, houses: houses, outside: outside)
            case .house(let house):
                if state.sheets {
                    SheetsPage(screen: screen, house: house, outside: outside)
                } else {
                    HousePage(screen: screen, house: house, outside: outside)
                }
            case .reading(let reading): WalkPage(screen: screen, reading: reading)
            case .opening(let opening): OpeningPage(screen: screen, opening: opening, outside: outside)
            case .leaving(let leaving): LeavingPage(screen: screen, leaving: leaving)
            case .settings(let settings): SettingsPage(screen: screen, settings: settings)
            case .sync(let sync): SyncPage(screen: screen, sync: sync, outside: outside)
            }
        } else {
            VStack(spacing: 12) {
                Words("Hangtrue", font: .title2, weight: .bold)
                Words(state.trouble ?? "Opening the book")
                if state.trouble != nil { Press("Try again") { state.reopen() } }
            }
            .padding(24)
        }
    }
}
