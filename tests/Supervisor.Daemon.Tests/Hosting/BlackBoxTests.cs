using Supervisor.Daemon.Hosting;

namespace Supervisor.Daemon.Tests.Hosting;

public sealed class BlackBoxTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("last-words-").FullName;

    private string Path => System.IO.Path.Combine(_folder, "last-words");

    [Fact]
    public void Write_ReadByTheNextRun_IsThereUntilForgotten()
    {
        using (var first = BlackBox.Open(Path, out var nothing, out var problem))
        {
            Assert.Equal("", nothing + problem);
            first.Write("port line-a: broke\nat a second line");
        }

        using (BlackBox.Open(Path, out var words, out _))
        {
            Assert.Equal("port line-a: broke at a second line", words);
        }

        using (var third = BlackBox.Open(Path, out var again, out _))
        {
            Assert.NotEqual("", again);
            third.Forget();
        }

        using var fourth = BlackBox.Open(Path, out var gone, out _);
        Assert.Equal("", gone);
    }

    [Fact]
    public void Forget_MoreWrittenMeanwhile_KeepsIt()
    {
        using (var first = BlackBox.Open(Path, out _, out _))
        {
            first.Write("old");
        }

        using (var second = BlackBox.Open(Path, out _, out _))
        {
            second.Write("new");
            second.Forget();
        }

        using var third = BlackBox.Open(Path, out var words, out _);
        Assert.Contains("new", words, StringComparison.Ordinal);
    }

    [Fact]
    public void Write_WithoutEnd_IsBounded()
    {
        using (var box = BlackBox.Open(Path, out _, out _))
        {
            for (var i = 0; i < 1_000; i++)
            {
                box.Write(new string('x', 100));
            }
        }

        Assert.InRange(new FileInfo(Path).Length, 1_000, 4_096);
    }

    [Fact]
    public void Open_FolderThatIsNotThere_TellsAndTakesWordsAllTheSame()
    {
        using var box = BlackBox.Open(System.IO.Path.Combine(_folder, "none", "last-words"), out _, out var problem);

        box.Write("unheard");
        box.Forget();
        Assert.Contains("none", problem, StringComparison.Ordinal);
    }

    public void Dispose() => Directory.Delete(_folder, recursive: true);
}
