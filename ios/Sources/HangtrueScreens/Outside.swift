// What the screens ask of the device around them. The app answers with the system's own printer, picker and camera.
import Foundation

/// The ways out of the screens.
@MainActor
public protocol Outside: AnyObject {
    /// Takes a photo of the house or opening `on`, and hands it to the core.
    func takePhoto(on: String, caption: String)

    /// Prints a sheet.
    func print(title: String, html: String)

    /// Lets a person pick a job file, and hands it to the core.
    func pickHouse()

    /// Lets a person pick a folder and hands its path to `then`, with what is to be called when nothing of it is wanted any more.
    func pickFolder(then: @escaping @MainActor (_ path: String, _ done: @escaping @MainActor @Sendable () -> Void) -> Void)

    /// Reads the code that a workroom shows with the camera, and hands its text to `then`.
    func scanCode(then: @escaping @MainActor (String) -> Void)

    /// Lets a person choose where a job file called `name` goes.
    func save(name: String, text: String)
}
