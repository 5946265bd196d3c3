// What another app can be handed. It is made when it is known where it goes, not when the button is drawn.
import CoreTransferable
import HangtrueState
import SwiftUI
import UniformTypeIdentifiers

/// The sheets of an opening, or of a house where `opening` is nothing.
struct SheetToHand: Transferable {
    let state: WalkState
    let house: String
    let opening: String?

    static var transferRepresentation: some TransferRepresentation {
        FileRepresentation(exportedContentType: .html) {
            SentTransferredFile(try await $0.state.sheetToHand(house: $0.house, opening: $0.opening))
        }
    }
}

/// The job file of a house.
struct HouseToHand: Transferable {
    let state: WalkState
    let house: String
    let name: String

    static var transferRepresentation: some TransferRepresentation {
        FileRepresentation(exportedContentType: .json) {
            SentTransferredFile(try await $0.state.houseFileToHand($0.house, name: $0.name))
        }
    }
}

/// A button that opens the system's share sheet on itself. It looks as every other.
struct Share<Item: Transferable>: View {
    let item: Item
    /// What the share sheet is headed by.
    let name: String
    /// The button's name, where "share" alone is too little.
    let spoken: String
    var id = ""

    var body: some View {
        ShareLink(item: item, preview: SharePreview(name)) { Face("Share") }
            .buttonStyle(.plain)
            .accessibilityLabel(Text(verbatim: spoken))
            .accessibilityIdentifier(id)
    }
}
