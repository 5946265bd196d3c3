// Sheets to share or print: the house's summary, and those of every opening.
import HangtrueState
import SwiftUI

/// The sheets of a house, each to be shared or printed. What is on them is the core's; they are made when they are asked for.
struct SheetsPage: View {
    let screen: Screen
    let house: HouseScreen
    let outside: any Outside

    var body: some View {
        Page(over: "Sheets") {
            SheetCard(
                name: screen.title, below: "The whole house on one sheet: every opening and what to buy", house: house.id, opening: nil,
                outside: outside
            )
            ForEach(house.rooms, id: \.id) { room in
                ForEach(room.openings, id: \.id) { opening in
                    SheetCard(
                        name: "\(room.name), \(opening.open.label)", below: "Measuring; making and hanging once enough is read",
                        house: house.id, opening: opening.id, outside: outside
                    )
                }
            }
        }
    }
}

private struct SheetCard: View {
    @EnvironmentObject private var watched: Watched
    let name: String
    let below: String
    let house: String
    let opening: String?
    let outside: any Outside

    var body: some View {
        Card {
            Heading(name)
            Words(below, font: .subheadline, paint: \.quiet)
            Presses {
                Share(
                    item: SheetToHand(state: watched.state, house: house, opening: opening), name: name,
                    spoken: "share the sheets: \(name)"
                )
                Press("Print", spoken: "print the sheets: \(name)") {
                    watched.state.sheet(house: house, opening: opening) { outside.print(title: $0.title, html: $0.html) }
                }
            }
        }
    }
}
