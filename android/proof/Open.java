// Opens the core's book through the shrunk bindings, by the names that shrink.sh keeps for it, and says where it opens.
class Open {
    public static void main(String[] said) throws Exception {
        Class<?> book = Class.forName("hangtrue.core.HouseBook");
        Object companion = book.getField("Companion").get(null);
        Object open = companion.getClass().getMethod("open", String.class).invoke(companion, said[0]);
        Object screen = book.getMethod("screen").invoke(open);
        System.out.println("the book opens at " + screen.getClass().getMethod("getTitle").invoke(screen));
    }
}
