// What the screens ask of the device around them. A phone answers with its own share sheet, printer, picker and camera.
package hangtrue.screens

/** The ways out of the screens. */
interface Outside {
    /** The exchange that this device can do in the background; nothing where it cannot. */
    val background: BackgroundExchange? get() = null

    /** Takes a photo of the house or opening [on], and hands it to the core. */
    fun takePhoto(on: String, caption: String)

    /** Hands [text] to another app as a file called [name]. */
    fun share(name: String, type: String, text: String)

    /** Prints a sheet. */
    fun print(name: String, html: String)

    /** Lets a person pick a job file, and hands it to the core. */
    fun pickHouse()

    /** Lets a person choose a folder of exchange, and hands it to the exchange. */
    fun pickFolder()

    /** Lets a person choose where the job file of [house] goes. */
    fun saveHouse(house: String, name: String)
}

/** The exchange with the workroom while the app is not in use. What it holds is drawn: it has to be state that is observed. */
interface BackgroundExchange {
    /** True while it is switched on. */
    val on: Boolean

    /** True when this device shows notifications of the app. */
    val notifies: Boolean

    /** When it was last done, in milliseconds; nothing when never. */
    val lastMs: Long?

    /** What came of it, in a sentence. */
    val lastSays: String

    /** Switches it on or off. */
    fun turn(on: Boolean)
}
