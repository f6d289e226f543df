using Supervisor.Api.V1;
using Supervisor.Daemon.Verbs.History;

namespace Supervisor.Daemon.Tests.Verbs.History;

/// <summary>RFC 4180, section 2: the examples of its rules 1, 5, 6 and 7 as they stand there, and a reader of that grammar for whole records.</summary>
public sealed class HistoryCsvTests
{
    [Theory]
    [InlineData("aaa,bbb,ccc\r\n", "aaa", "bbb", "ccc")]
    [InlineData("aaa,\"b\r\nbb\",ccc\r\n", "aaa", "b\r\nbb", "ccc")]
    [InlineData("aaa,\"b\"\"bb\",ccc\r\n", "aaa", "b\"bb", "ccc")]
    [InlineData("\"a,a\",,ccc\r\n", "a,a", null, "ccc")]
    public void Write_ExampleOfTheStandard_IsThat(string line, params string?[] values)
    {
        var to = new StringWriter();
        HistoryCsv.Write(to, values);
        Assert.Equal(line, to.ToString());
    }

    [Fact]
    public void Write_Records_ReadBackWithAsManyFieldsAsTheHeader()
    {
        var to = new StringWriter();
        HistoryCsv.WriteHeader(to);
        HistoryCsv.Write(to, new HistoryRecord
        {
            Sequence = 7, SinceBootS = 0.5, Kind = RecordKind.Command, Text = "set \"A, B\"\nby x", Command = "set", Holder = "hall, \"north\"", Count = 1, Outcome = Outcome.Refused,
        });
        HistoryCsv.Write(to, new HistoryRecord { Sequence = 8, Kind = RecordKind.Fault, Axis = "x", Position = -1.25, Relation = Relation.SameLine, Follows = 7, Count = 3, LastSinceBootS = 2 });

        var rows = Read(to.ToString());

        Assert.Equal(3, rows.Count);
        Assert.All(rows, row => Assert.Equal(rows[0].Count, row.Count));
        Assert.Equal("set \"A, B\"\nby x", rows[1][rows[0].IndexOf("text")]);
        Assert.Equal("hall, \"north\"", rows[1][rows[0].IndexOf("holder")]);
        Assert.Equal("", rows[1][rows[0].IndexOf("time")]);
        Assert.Equal(("-1.25", "sameLine", "7"), (rows[2][rows[0].IndexOf("position")], rows[2][rows[0].IndexOf("relation")], rows[2][rows[0].IndexOf("follows")]));
    }

    // The grammar of section 2: field = escaped / non-escaped; escaped = DQUOTE *(TEXTDATA / COMMA / CR / LF / 2DQUOTE) DQUOTE.
    private static List<List<string>> Read(string text)
    {
        var rows = new List<List<string>>();
        for (var at = 0; at < text.Length;)
        {
            var row = new List<string>();
            for (; ;)
            {
                var field = new System.Text.StringBuilder();
                if (text[at] == '"')
                {
                    for (at++; text[at] != '"' || text[at + 1] == '"'; at++)
                    {
                        at += text[at] == '"' ? 1 : 0;
                        field.Append(text[at]);
                    }

                    at++;
                }
                else
                {
                    for (; text[at] is not (',' or '\r'); at++)
                    {
                        Assert.False(text[at] is '"' or '\n', "a quote or a line feed stands outside quotes");
                        field.Append(text[at]);
                    }
                }

                row.Add(field.ToString());
                if (text[at] == ',')
                {
                    at++;
                    continue;
                }

                Assert.Equal("\r\n", text.Substring(at, 2));
                at += 2;
                break;
            }

            rows.Add(row);
        }

        return rows;
    }
}
