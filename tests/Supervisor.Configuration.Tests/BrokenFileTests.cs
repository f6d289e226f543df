using System.Text;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Routines;

namespace Supervisor.Configuration.Tests;

/// <summary>Files that can't be read as JSON at all: one error of the usual shape, never an exception.</summary>
public sealed class BrokenFileTests
{
    [Fact]
    public void Read_NoFile_IsTold()
    {
        using var folder = new TestFolder();

        Assert.Equal(["nothing.json:1:1: file not found; check the name and the folder"], folder.Lines(MachineFile.Read(folder.At("nothing.json")).Errors));
        Assert.Equal(["no/where.json:1:1: file not found; check the name and the folder"], folder.Lines(DriveDefinitionFile.Read(folder.At("no/where.json")).Errors));
    }

    [Fact]
    public void Read_Folder_IsTold()
    {
        using var folder = new TestFolder();
        Directory.CreateDirectory(folder.At("machine.json"));

        Assert.Equal(["machine.json:1:1: this is a folder; name the file in it"], folder.Lines(MachineFile.Read(folder.At("machine.json")).Errors));
    }

    [Theory]
    [InlineData("", "no file name given")]
    [InlineData("a\0b", "the file name holds a NUL character")]
    public void Read_NameThatCannotBe_IsTold(string path, string expected) =>
        Assert.Equal(expected, Assert.Single(MachineFile.Read(path).Errors).Message);

    [Fact]
    public void Read_FileWithoutPermission_IsTold()
    {
        Assert.SkipWhen(Environment.IsPrivilegedProcess, "root may read every file");
        using var folder = new TestFolder();
        var path = folder.Write("machine.json", "{}");
        if (!OperatingSystem.IsWindows())
        {
            File.SetUnixFileMode(path, UnixFileMode.None);
        }

        Assert.Equal(["machine.json:1:1: no permission to read the file; check its owner and mode"], folder.Lines(MachineFile.Read(path).Errors));
    }

    [Fact]
    public void Read_FileWithoutEnd_IsRefusedBeforeItFillsTheMemory()
    {
        Assert.SkipUnless(File.Exists("/dev/zero"), "needs /dev/zero");

        Assert.StartsWith("the file is larger than", Assert.Single(MachineFile.Read("/dev/zero").Errors).Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("", 1, 1, "the file is empty; an object in braces is expected")]
    [InlineData("\n\n  \n", 1, 1, "the file is empty; an object in braces is expected")]
    [InlineData("// nothing\n/* here */", 1, 1, "the file is empty; an object in braces is expected")]
    [InlineData("[]", 1, 1, "an object is expected, found an array")]
    [InlineData("  7", 1, 3, "an object is expected, found the number 7")]
    [InlineData("{", 1, 2, "broken JSON: ")]
    [InlineData("{ \"machine\": { } ]", 1, 18, "broken JSON: ")]
    [InlineData("{\n  \"ä🙂\": tru }", 2, 12, "broken JSON: ")]
    [InlineData("{\n\t\"a\": 1,,\n}", 2, 9, "broken JSON: ")]
    [InlineData("{\r\n  \"a\" 1\r\n}", 2, 7, "broken JSON: ")]
    [InlineData("{ } x", 1, 5, "broken JSON: ")]
    [InlineData("{ \"a\": 01 }", 1, 9, "broken JSON: ")]
    [InlineData("{ \"a\": NaN }", 1, 8, "broken JSON: ")]
    [InlineData("{ /* no end", 1, 3, "broken JSON: ")]
    [InlineData("/* no end", 1, 1, "broken JSON: ")]
    public void Read_BrokenText_IsToldWhereItBreaks(string text, int line, int column, string message)
    {
        using var folder = new TestFolder();
        var path = folder.Write("machine.json", text);

        var error = Assert.Single(MachineFile.Read(path).Errors);

        Assert.Equal((path, line, column, ""), (error.File, error.Line, error.Column, error.Path));
        Assert.StartsWith(message, error.Message, StringComparison.Ordinal);
        Assert.DoesNotContain("LineNumber", error.Message, StringComparison.Ordinal);
        Assert.Equal(error, Assert.Single(DriveDefinitionFile.Read(path).Errors));
        Assert.Equal(error, Assert.Single(RoutineFile.Read(path, Samples.Machine(Samples.Example("machine.json"))).Errors));
    }

    [Fact]
    public void Read_ByteOrderMark_IsNoCharacter()
    {
        using var folder = new TestFolder();
        var path = folder.Write("machine.json", [0xEF, 0xBB, 0xBF, .. "{ \"x\": 1 }"u8]);

        Assert.Contains("machine.json:1:3: x: unknown member; known: \"$schema\", \"machine\", \"ports\", \"axes\", \"modules\", \"interlocks\", \"zones\", \"authority\", \"outputs\", \"powerEnable\", \"alive\", \"history\", \"languages\", \"counters\", \"alarms\", \"signals\", \"outOfService\", \"messages\"", folder.Lines(MachineFile.Read(path).Errors));
    }

    [Fact]
    public void Read_OtherEncoding_IsToldAtTheFirstWrongByte()
    {
        using var folder = new TestFolder();
        var latin = folder.Write("latin.json", Encoding.Latin1.GetBytes("{\n \"ok\": \"\u00E9\" }"));
        var utf16 = folder.Write("utf16.json", [0xFF, 0xFE, .. Encoding.Unicode.GetBytes("{}")]);

        Assert.Equal(["latin.json:2:9: not UTF-8 from here on; save the file as UTF-8"], folder.Lines(MachineFile.Read(latin).Errors));
        Assert.Equal(["utf16.json:1:1: not UTF-8 from here on; save the file as UTF-8"], folder.Lines(MachineFile.Read(utf16).Errors));
    }

    [Fact]
    public void Read_HalfASurrogatePair_IsTold()
    {
        using var folder = new TestFolder();
        var path = folder.Write("machine.json", "{ \"machine\": { \"name\": \"\\ud800\" }, \"\\udc00\": 1 }");
        var lines = folder.Lines(MachineFile.Read(path).Errors);

        Assert.Contains("machine.json:1:24: machine.name: an escape like \\ud800 needs its second half", lines);
        Assert.Contains(lines, line => line.StartsWith("machine.json:1:36: ", StringComparison.Ordinal));
    }

    [Fact]
    public void Read_NestingWithoutEnd_IsTold()
    {
        using var folder = new TestFolder();
        var path = folder.Write("machine.json", new string('[', 100_000));

        Assert.StartsWith("broken JSON: ", Assert.Single(MachineFile.Read(path).Errors).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Read_NamesWithLineBreaks_StayOnOneLine()
    {
        using var folder = new TestFolder();
        var path = folder.Write("machine.json", "{ \"a\\nb\\u202e\": 1, \"machine\": { \"name\": \"x\\r\\ny\" }, \"ports\": \"\\u2028\" }");

        Assert.All(folder.Lines(MachineFile.Read(path).Errors), line => Assert.DoesNotContain(line, c => char.IsControl(c) || c is '\u2028' or '\u202e'));
    }
}
