// What the screens ask of the device around them. A phone answers with its own share sheet, printer, picker and camera.
package hangtrue.screens

/** The ways out of the screens. */
interface Outside {
    /** Takes a photo of the house or opening [on], and hands it to the core. */
    fun takePhoto(on: String, caption: String)

    /** Hands [text] to another app as a file called [name]. */
    fun share(name: String, type: String, text: String)

    /** Prints a sheet. */
    fun print(name: String, html: String)

    /** Lets a person pick a job file, and hands it to the core. */
    fun pickHouse()

    /** Lets a person choose a folder of exchange, and hands its path to [then]. */
    fun pickFolder(then: (String) -> Unit)

    /** Lets a person choose where the job file of [house] goes. */
    fun saveHouse(house: String, name: String)
}
