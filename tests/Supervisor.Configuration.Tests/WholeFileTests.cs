using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Tests;

/// <summary>A file full of errors, laid out as people write them: everything told in one pass, each at its line and column.</summary>
public sealed class WholeFileTests
{
    private const string Machine =
        """
        // Columns count characters: tabs, umlauts and emoji are one each.
        {
          "machine": { "name": "Säer" },
          "ports": [
            { "name": "line-a", "device": "/dev/ttyS0", "baud": 0, "cycleMs": 40 },
            /* ä🙂 */ { "name": "line-b", "device": "/dev/ttyS0", "bauds": 9600, "cycleMs": 40, },
          ],
          "axes": [
        	{	"name": "höhe",	"port": "line-c", "address": 1, "definition": "gone.drive.json",
        		"unit": "mm", "countsPerUnit": 1000, "reference": "none", "countsPerUnit": 1,
        		"limits": { "position": [200, 180], "velocity": "fast", "acceleration": 1, "deceleration": 1 } },
            { "name": "drum", "port": "line-a", "address": 7, "definition": "simple.drive.json", "unit": "grad", "countsPerUnit": 100,
              "endless": { "period": 360 }, "limits": { "velocity": 1, "acceleration": 1, "deceleration": 1 }, "reference": "none" },
            { "name": "drum", "port": "line-a", "address": 7, "definition": "simple.drive.json", "unit": "deg", "countsPerUnit": 100,
              "endless": { "period": 360 }, "limits": { "velocity": 1, "acceleration": 1, "deceleration": 1 }, "reference": "none" }
          ],
          "interlocks": [
            { "name": "stop", "kind": "emergencyStop", "inputs": ["drum.a", "höhe.b", "dram.a"], "stopCategory": 2, "axes": ["drum", "hohe"] }
          ]
        }
        """;

    private const string Drive =
        """
        { "name": "Simple", "protocol": "modbusRtu", "wire": { "read": {}, "write": {} }, "states": "cia402",
          "feedback": [ { "name": "statusword", "register": 0, "type": "u16" }, { "name": "position", "register": 0, "type": "s32" } ],
          "command": [ { "name": "controlword", "register": 0, "type": "u16" }, { "name": "targetPosition", "register": 1, "type": "s32" } ],
          "inputs": { "b": "statusword.16" } }
        """;

    [Fact]
    public void Read_FileFullOfErrors_EveryOneIsToldAtItsPlace()
    {
        using var folder = new TestFolder();
        folder.Write("simple.drive.json", Drive);
        var result = MachineFile.Read(folder.Write("machine.json", Machine));

        Assert.Null(result.Value);
        Assert.Equal(
            [
                "machine.json:5:57: ports[0].baud: 0 must be 1 to 20000000 bit/s",
                "machine.json:6:44: ports[1].device: \"/dev/ttyS0\" is already the device of the port in line 5",
                "machine.json:6:58: ports[1].bauds: unknown member; did you mean \"baud\"?",
                "machine.json:9:28: axes[0].port: no port \"line-c\"; did you mean \"line-a\"?",
                "machine.json:9:66: axes[0].definition: \"gone.drive.json\": file not found; check the name and the folder",
                "machine.json:10:61: axes[0].countsPerUnit: appears twice; first in line 10",
                "machine.json:11:27: axes[0].limits.position: lower limit 200 is above upper limit 180 (mm)",
                "machine.json:11:51: axes[0].limits.velocity: a number is expected, found the text \"fast\"",
                "machine.json:14:15: axes[2].name: axis \"drum\" appears twice; first in line 12",
                "machine.json:14:52: axes[2].address: address 7 on port \"line-a\" is already used by the axis in line 12",
                "machine.json:18:5: interlocks[0].resetInput: is missing: emergency stops and guards are reset by a button wired at the machine, never from afar",
                "machine.json:18:59: interlocks[0].inputs[0]: \"drum.a\": drive \"Simple\" has no input \"a\"; did you mean \"b\"?",
                "machine.json:18:79: interlocks[0].inputs[2]: \"dram.a\": no axis \"dram\"; did you mean \"drum\"?",
                "machine.json:18:106: interlocks[0].stopCategory: an emergency stop must not be of category 2, which keeps power on (IEC 60204-1); give 0 or 1",
                "machine.json:18:126: interlocks[0].axes[1]: no axis \"hohe\"; did you mean \"höhe\"?",
                "simple.drive.json:2:107: feedback[1].register: \"position\" (registers 0 to 1) overlaps \"statusword\" (register 0) in line 2",
                "simple.drive.json:3:14: command: field \"mode\" is missing: CiA 402 object 6060h",
                "simple.drive.json:4:20: inputs.b: bit 16 is outside field \"statusword\", whose bits are 0 to 15",
            ],
            folder.Lines(result.Errors));
    }

    [Fact]
    public void Read_FileGivenWithAFolder_ErrorsNameBothFilesAsTheUserWould()
    {
        using var folder = new TestFolder();
        folder.Write("simple.drive.json", Drive);
        var path = folder.Write("machine.json", Machine);

        var files = MachineFile.Read(path).Errors.Select(error => error.File).Distinct();

        Assert.Equal([path, folder.At("simple.drive.json")], files);
    }
}
