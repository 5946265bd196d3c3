// Versions of the plugins; the same Kotlin as in pom.xml. The Android plugin brings a Kotlin of its own, and takes this newer
// one because it is on the class path. proof/versions.py holds what is said here against the libraries and the Maven build.
buildscript {
    repositories {
        google()
        mavenCentral()
    }
    dependencies {
        classpath("org.jetbrains.kotlin:kotlin-gradle-plugin:2.4.21")
    }
}
plugins {
    id("com.android.application") version "9.2.1" apply false
    id("org.jetbrains.kotlin.plugin.compose") version "2.4.21" apply false
}
